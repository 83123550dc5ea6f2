"""The index: derived from the job folders, may be deleted at any time, finds jobs fast."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.index import fts5, tables
from recorder.archive.index.database import AS_IT_IS, SCRATCH, Database
from recorder.archive.index.text import Phrase
from recorder.archive.jobs.folder import JobFolder, dump, job_folders, parse
from recorder.errors import BadJobFolder, HomeUnusable, IndexDamaged
from recorder.model.job import Job

BATCH_JOBS = 200  # between two commits, so that another writer waits no longer than a moment

Progress = Callable[[int, int], None]
Damaged = list[tuple[Path, str]]


@dataclass(frozen=True)
class RebuildReport:
    """count: jobs that were read into the index. damaged: folders that could not be, and why."""

    count: int
    damaged: tuple[tuple[Path, str], ...] = ()


class Index:
    """An open index. ``damaged``: the job folders which it could not read when it was opened."""

    def __init__(self, home: Home, database: Database) -> None:
        self.home = home
        self.database = database
        self.damaged: tuple[tuple[Path, str], ...] = ()

    @classmethod
    def open(cls, home: Home) -> Index:
        """The index of a home, made or remade when it is missing or of another version, and
        brought up to date with the job folders.

        Raises IndexDamaged, HomeUnusable, Busy.
        """
        if not home.index.exists() or not _fits(home.index):
            cls.rebuild(home)
        index = cls(home, Database(home.index))
        try:
            index.damaged = index.refresh().damaged
        except BaseException:
            index.close()
            raise
        return index

    def __enter__(self) -> Index:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        self.database.close()

    def put(self, job: Job) -> None:
        """Take a job in, in place of what the index held of it. Save the job first."""
        stamp = ""  # of a record that is not the one on disk: the next refresh mends it
        with contextlib.suppress(BadJobFolder):
            content, stamp_on_disk = JobFolder(self.home.jobs / job.id).read()
            stamp = stamp_on_disk if content == dump(job) else ""
        with self.database.transaction():
            tables.put(self.database, job, stamp)

    def refresh(self) -> RebuildReport:
        """Bring the index up to date with the folders; only records that changed are read.

        Mends what a crash between saving and indexing left, and takes in folders that were
        copied in or removed by hand. A damaged folder keeps what the index knew of it.
        """
        known: dict[str, str] = dict(self.database.rows("SELECT id, stamp FROM jobs"))
        folders = job_folders(self.home)
        changed = [folder for folder in folders if not _is_known(folder, known)]
        count: int = 0
        damaged: Damaged = []
        for start in range(0, len(changed), BATCH_JOBS):
            with self.database.transaction():
                count += _take_in(self.database, changed[start : start + BATCH_JOBS], damaged)
        for gone in known.keys() - {folder.id for folder in folders}:
            with self.database.transaction():
                tables.remove(self.database, gone)
        return RebuildReport(count, tuple(damaged))

    def count(self) -> int:
        """Number of jobs in it."""
        return int(self.database.rows("SELECT count(*) FROM jobs")[0][0])

    def has(self, phrase: Phrase) -> bool:
        """Whether any job holds it."""
        found = self.database.rows(
            "SELECT 1 FROM texts WHERE texts MATCH ? LIMIT 1", (fts5.expression(((phrase,),)),)
        )
        return bool(found)

    def terms(self, shortest: int, longest: int) -> list[tuple[str, int]]:
        """Words of so many letters, of letters alone, as the text index folds them, each with
        the number of jobs that hold it.
        """
        self.database.rows(
            "CREATE VIRTUAL TABLE IF NOT EXISTS temp.vocab USING fts5vocab(main, texts, row)"
        )
        found = self.database.rows(
            "SELECT term, doc FROM temp.vocab WHERE length(term) BETWEEN ? AND ?",
            (shortest, longest),
        )
        return [(term, jobs) for term, jobs in found if term.isalpha()]

    def check(self) -> None:
        """Every page, and the full text against its own tables. Raises IndexDamaged."""
        tables.check(self.database)

    @staticmethod
    def rebuild(home: Home, progress: Progress | None = None) -> RebuildReport:
        """Make the index anew from the folders alone. ``progress`` gets (done, all).

        It is built and examined beside the old one, which serves until then. Raises
        HomeUnusable, Busy.
        """
        fresh = home.index.with_name(f".{home.index.name}.new")
        with lock.held(home.index):
            try:
                fresh.unlink(missing_ok=True)
                report = _build(home, fresh, progress)
                _swap_in(fresh, home.index)
            except OSError as error:
                raise HomeUnusable(path=home.root, detail=cause(error)) from error
            finally:
                with contextlib.suppress(OSError):
                    fresh.unlink(missing_ok=True)
        return report


def bring_up_to_date(home: Home) -> None:
    """Let the index see the job folders as they are now. Raises as ``Index.open``."""
    Index.open(home).close()


def _is_known(folder: JobFolder, known: dict[str, str]) -> bool:
    try:
        return known.get(folder.id) == folder.stamp()
    except BadJobFolder:
        return False


def _take_in(database: Database, folders: list[JobFolder], damaged: Damaged) -> int:
    """Read folders into the tables; how many could be. The others are added to ``damaged``."""
    before = len(damaged)
    for folder in folders:
        try:
            content, stamp = folder.read()
            tables.put(database, parse(content, folder.path), stamp)
        except BadJobFolder as error:
            damaged.append((folder.path, str(error.data["detail"])))
    return len(folders) - (len(damaged) - before)


def _build(home: Home, path: Path, progress: Progress | None) -> RebuildReport:
    folders = job_folders(home)
    count: int = 0
    damaged: Damaged = []
    with contextlib.closing(Database(path, SCRATCH)) as database:
        with database.transaction():
            tables.make(database)
            for done, folder in enumerate(folders, start=1):
                count += _take_in(database, [folder], damaged)
                if progress:
                    progress(done, len(folders))
        tables.check(database)
    return RebuildReport(count, tuple(damaged))


def _swap_in(fresh: Path, index: Path) -> None:
    """Put the fresh index in the place of the old one, which other processes may be using.

    Renaming a file over a database that is open elsewhere would mix its log with the new pages
    (https://www.sqlite.org/howtocorrupt.html), so a sound old index is overwritten through
    SQLite; only what is no usable index is replaced.
    """
    if index.exists():
        with contextlib.suppress(IndexDamaged):
            if _fits(index, any_version=True):
                with (
                    contextlib.closing(Database(fresh, AS_IT_IS)) as new,
                    contextlib.closing(Database(index)) as old,
                ):
                    new.copy_over(old)
                    tables.check(old)
                    return
    for leftover in ("", "-wal", "-shm", "-journal"):
        index.with_name(index.name + leftover).unlink(missing_ok=True)
    with fresh.open("rb+") as file:
        os.fsync(file.fileno())
    fresh.replace(index)
    atomic.sync_folder(index.parent)


def _fits(path: Path, any_version: bool = False) -> bool:
    """Whether the file is an index of this version. IndexDamaged when it is none of ours."""
    with contextlib.closing(Database(path, AS_IT_IS)) as database:
        application, version = (
            database.rows(f"PRAGMA {name}")[0][0] for name in ("application_id", "user_version")
        )
        names = {row[0] for row in database.rows("SELECT name FROM sqlite_schema")}
    if not names:
        return any_version
    if application != tables.APPLICATION_ID:
        raise IndexDamaged(path=path, detail="it is the database of another program")
    complete = names >= tables.NAMES
    return any_version or (version == tables.INDEX_VERSION and complete)
