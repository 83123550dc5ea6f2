"""A job folder that is being filled: it appears among the jobs whole or not at all."""

from __future__ import annotations

import contextlib
import secrets
import shutil
from collections.abc import Iterator
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home, cause
from recorder.errors import Busy, HomeUnusable, OutputUnwritable

FOLDERS = ("media", "derived", "reports")


@contextlib.contextmanager
def arriving(home: Home) -> Iterator[Path]:
    """A new folder with the folders of a job in it, to be filled and then renamed.

    It is gone when it was not. What fails on the way is HomeUnusable.
    """
    staging = home.jobs / f".new-{secrets.token_hex(4)}"
    try:
        with lock.held(staging):
            _sweep(home)
            try:
                for name in FOLDERS:
                    (staging / name).mkdir(parents=True)
                yield staging
            finally:
                shutil.rmtree(staging, ignore_errors=True)
    except OSError as error:
        raise HomeUnusable(path=home.root, detail=cause(error)) from error
    except OutputUnwritable as error:
        raise HomeUnusable(path=home.root, detail=error.data["detail"]) from error


def _sweep(home: Home) -> None:
    """Remove what killed makers of jobs left; the files they were copying still lie elsewhere."""
    for stale in home.jobs.glob(".new-*"):
        with contextlib.suppress(Busy), lock.held(stale, wait_s=0):
            shutil.rmtree(stale, ignore_errors=True)
