"""The index: derived from the job folders, may be deleted at any time, finds jobs fast."""

from __future__ import annotations

import contextlib
from pathlib import Path
from types import TracebackType

from sqlalchemy import func, select

from recorder.archive.disk.home import Home
from recorder.archive.index import rebuilding, scan
from recorder.archive.index.database import AS_IT_IS, DURABLE, Database
from recorder.archive.index.entries import entry
from recorder.archive.index.reading import read_all
from recorder.archive.index.rebuilding import Progress, RebuildReport
from recorder.archive.index.schema import JOBS, TERMS, VALUES
from recorder.archive.index.tables import Tables
from recorder.archive.index.text import Phrase, TextIndex
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.errors import BadJobFolder
from recorder.model.job import Job


class Index:
    """An open index. ``damaged``: the job folders which it could not read when it was opened."""

    def __init__(self, home: Home, database: Database) -> None:
        self.home = home
        self.database = database
        self.damaged: tuple[tuple[Path, str], ...] = ()
        self._tables = Tables(database)

    @classmethod
    def open(cls, home: Home, progress: Progress | None = None, scanned: bool = True) -> Index:
        """The index of a home, made or remade when it is missing or of another version, and
        brought up to date with the job folders.

        progress: as for ``rebuild``, if that is needed. scanned: not so, the folders are not
        looked through, which takes a third of a second for 100,000. Raises IndexDamaged,
        HomeUnusable, Busy.
        """
        if not home.index.exists():
            cls.rebuild(home, progress)
        index = cls(home, Database(home.index, AS_IT_IS))
        try:
            if not rebuilding.fits(index.database):
                index.close()
                cls.rebuild(home, progress)
                index = cls(home, Database(home.index, AS_IT_IS))
            index.database.set_modes(DURABLE)
            if scanned:
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

    @property
    def texts(self) -> TextIndex:
        return self._tables.texts

    def put(self, job: Job) -> None:
        """Take a job in, in place of what the index held of it. Save the job first."""
        stamp = ""  # of a record that is not the one on disk: the next refresh mends it
        with contextlib.suppress(BadJobFolder):
            content, stamp_on_disk = JobFolder(self.home.jobs / job.id).read()
            stamp = stamp_on_disk if content == dump(job) else ""
        with self.database.transaction():
            self._tables.put([entry(job, stamp)])

    def refresh(self) -> RebuildReport:
        """Bring the index up to date with the folders; only records that changed are read.

        Mends what a crash between saving and indexing left, and takes in folders that were
        copied in or removed by hand. A damaged folder keeps what the index knew of it. A record
        counts as changed when its time or its size did.
        """
        known = self._tables.known()
        stamps = scan.stamps(self.home)
        changed = [n for n, stamp in stamps.items() if stamp is None or known.get(n) != stamp]
        return self._bring(changed, [job_id for job_id in known if job_id not in stamps])

    def bring(self, job_id: str) -> RebuildReport:
        """The same for one job, without a look at the others."""
        here = (self.home.jobs / job_id).is_dir()
        return self._bring([job_id] if here else [], [] if here else [job_id])

    def count(self) -> int:
        """Number of jobs in it."""
        return int(self.database.rows(select(func.count()).select_from(JOBS))[0][0])

    def has(self, phrase: Phrase) -> bool:
        """Whether any job holds it."""
        found = self.texts.matching(((phrase,),))
        return bool(self.database.rows(select(found.key).where(found.condition).limit(1)))

    def numbered(self, job_number: str) -> list[str]:
        """The ids of the jobs of that number, whatever the case."""
        plain = job_number.encode("utf-8", "replace").decode().strip().casefold()
        jobs = select(JOBS.c.id).distinct().join(VALUES, VALUES.c.job == JOBS.c.key)
        found = jobs.where(VALUES.c.field == "job_number", VALUES.c.word == plain)
        return [str(row[0]) for row in self.database.rows(found)]

    def terms(self, shortest: int, longest: int) -> list[tuple[str, int]]:
        """Words of so many letters, of letters alone, as the text index folds them, each with
        the number of jobs that hold it.
        """
        length = func.length(TERMS.c.term)
        found = self.database.rows(select(TERMS).where(length.between(shortest, longest)))
        return [(term, jobs) for term, jobs in found if term.isalpha()]

    def differences(self, job: Job) -> tuple[str, ...]:
        """The names of the tables that do not hold what the record of the job gives."""
        return self._tables.differences(entry(job, ""))

    def scrub(self) -> None:
        """Leave no trace in the file of what was removed. Takes seconds in a big archive."""
        self.texts.scrub()

    def check(self) -> None:
        """Every page, and the full text against its own tables. Raises IndexDamaged."""
        self._tables.check()

    @staticmethod
    def rebuild(home: Home, progress: Progress | None = None) -> RebuildReport:
        """Make the index anew from the folders alone. ``progress`` gets (done, all).

        It is built and examined beside the old one, which serves until then. Raises
        HomeUnusable, Busy.
        """
        return rebuilding.rebuild(home, progress)

    def _bring(self, changed: list[str], gone: list[str]) -> RebuildReport:
        count: int = 0
        damaged: list[tuple[Path, str]] = []
        for batch in read_all(self.home.jobs, changed):
            with self.database.transaction():  # short, so that another writer does not wait long
                self._tables.put(batch.entries)
            count += len(batch.entries)
            damaged += batch.damaged
        for job_id in gone:
            with self.database.transaction():
                self._tables.remove(job_id)
        return RebuildReport(count, tuple(damaged))


def bring_up_to_date(home: Home, job_id: str | None = None) -> None:
    """Let the index see the job folders as they are now; with ``job_id`` that one alone.

    Raises as ``Index.open``.
    """
    with Index.open(home, scanned=job_id is None) as index:
        if job_id is not None:
            index.bring(job_id)
