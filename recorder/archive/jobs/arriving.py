"""A job folder that is being filled: it appears among the jobs whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs import events
from recorder.archive.jobs.events import Chain, Happened
from recorder.errors import Busy, HomeUnusable, OutputUnwritable
from recorder.model.event import FILE_NAME as EVENTS
from recorder.model.evidence import digest
from recorder.model.job import FILE_NAME as RECORD

FOLDERS = ("media", "derived", "reports")
# Among the jobs, so that a rename is enough; apart, so that sweeping does not look at all of them.
PLACE = ".arriving"


@contextlib.contextmanager
def arriving(home: Home) -> Iterator[Path]:
    """A new folder with the folders of a job in it, to be filled and then renamed.

    It is gone when it was not. What fails on the way is HomeUnusable.
    """
    staging = home.jobs / PLACE / secrets.token_hex(4)
    try:
        with lock.held(_locked(staging)):
            _sweep(home)
            try:
                _make(staging)
                yield staging
            finally:
                shutil.rmtree(staging, ignore_errors=True)
                with contextlib.suppress(OSError):  # others are arriving
                    staging.parent.rmdir()
    except OSError as error:
        raise HomeUnusable(path=home.root, detail=cause(error)) from error
    except OutputUnwritable as error:
        raise HomeUnusable(path=home.root, detail=error.data["detail"]) from error


def fill(staging: Path, record: bytes, batch: Sequence[Happened], now: datetime) -> None:
    """Write record and first events into a folder that is arriving. Raises OSError."""
    lines = events.lines(Chain(), batch, digest(record), now.astimezone())
    for name, content in ((RECORD, record), (EVENTS, lines)):
        with (staging / name).open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    atomic.sync_folder(staging)


def appear(staging: Path, job_id: str) -> Path | None:
    """Let a filled folder stand among the jobs, unless another has the name. Raises OSError."""
    target = staging.parents[1] / job_id
    try:
        staging.rename(target)
    except OSError:
        if target.exists():  # on Windows and POSIX alike, though their errors differ
            return None
        raise
    atomic.sync_folder(target.parent)
    return target


def _make(staging: Path) -> None:
    while True:
        staging.parent.mkdir(exist_ok=True)
        with contextlib.suppress(FileNotFoundError):  # the last to arrive took the place away
            staging.mkdir()
            break
    for name in FOLDERS:
        (staging / name).mkdir()


def _sweep(home: Home) -> None:
    """Remove what killed makers of jobs left; the files they were copying still lie elsewhere."""
    for stale in (home.jobs / PLACE).glob("*"):
        with contextlib.suppress(Busy), lock.held(_locked(stale), wait_s=0):
            shutil.rmtree(stale, ignore_errors=True)


def _locked(staging: Path) -> Path:
    """What is locked while a folder is filled: not in the place, which comes and goes."""
    return staging.parents[1] / staging.name
