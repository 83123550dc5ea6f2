"""The index made anew from the job folders, beside the old one, which serves until then."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.index.database import AS_IT_IS, DURABLE, SCRATCH, Database
from recorder.archive.index.reading import read_all
from recorder.archive.index.tables import APPLICATION_ID, INDEX_VERSION, NAMES, Tables
from recorder.archive.jobs.folders import job_ids
from recorder.errors import HomeUnusable, IndexDamaged

_CACHE_KB = 16_000

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class RebuildReport:
    """count: jobs that were read into the index. damaged: folders that could not be, and why."""

    count: int
    damaged: tuple[tuple[Path, str], ...] = ()


def rebuild(home: Home, progress: Progress | None = None) -> RebuildReport:
    """See ``Index.rebuild``."""
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


def fits(database: Database, any_version: bool = False) -> bool:
    """Whether it is an index of this version. IndexDamaged when it is none of ours."""
    application, version = (
        database.rows(f"PRAGMA {name}")[0][0] for name in ("application_id", "user_version")
    )
    names = {row[0] for row in database.rows("SELECT name FROM sqlite_schema")}
    if not names:
        return any_version
    if application != APPLICATION_ID:
        raise IndexDamaged(path=database.path, detail="it is the database of another program")
    return any_version or (version == INDEX_VERSION and names >= NAMES)


def _build(home: Home, path: Path, progress: Progress | None) -> RebuildReport:
    ids = job_ids(home)
    damaged: list[tuple[Path, str]] = []
    done: int = 0
    with contextlib.closing(Database(path, SCRATCH)) as database:
        database.rows(f"PRAGMA cache_size = -{_CACHE_KB}")
        tables = Tables(database)
        with database.transaction():
            tables.make()
            for batch in read_all(home.jobs, ids):
                tables.fill(batch.entries)
                damaged += batch.damaged
                for _ in range(len(batch.entries) + len(batch.damaged)):
                    done += 1
                    if progress:
                        progress(done, len(ids))
            tables.settle()
        tables.check()
    return RebuildReport(done - len(damaged), tuple(damaged))


def _swap_in(fresh: Path, index: Path) -> None:
    """Put the fresh index in the place of the old one, which other processes may be using.

    Renaming a file over a database that is open elsewhere would mix its log with the new pages
    (https://www.sqlite.org/howtocorrupt.html), so a sound old index is overwritten through
    SQLite; only what is no usable index is replaced.
    """
    if index.exists():
        with (
            contextlib.suppress(IndexDamaged),
            contextlib.closing(Database(index, AS_IT_IS)) as old,
        ):
            if fits(old, any_version=True):
                old.set_modes(DURABLE)
                with contextlib.closing(Database(fresh, AS_IT_IS)) as new:
                    new.copy_over(old)
                Tables(old).check()
                return
    for leftover in ("", "-wal", "-shm", "-journal"):
        index.with_name(index.name + leftover).unlink(missing_ok=True)
    with fresh.open("rb+") as file:
        os.fsync(file.fileno())
    fresh.replace(index)
    atomic.sync_folder(index.parent)
