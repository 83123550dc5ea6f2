"""One writer at a time, across processes: a lock that the system frees when its holder dies."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from recorder.archive.disk.home import cause
from recorder.errors import Busy, OutputUnwritable

POLL_S = 0.01

if sys.platform == "win32":
    import msvcrt

    def _seize(handle: int) -> None:
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _seize(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextlib.contextmanager
def held(target: Path, wait_s: float = 30.0) -> Iterator[None]:
    """Hold the lock of ``target`` (a file or folder, which need not exist).

    The lock is a file beside it that is gone when nobody holds it. Not re-entrant. Raises Busy
    after ``wait_s``, and OutputUnwritable where no lock file can be made.
    """
    path = target.with_name(f".{target.name}.lock")
    deadline_s = time.monotonic() + wait_s
    while (handle := _try(path)) is None:
        if time.monotonic() >= deadline_s:
            raise Busy(path=target)
        time.sleep(POLL_S)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):  # Windows keeps it while it is open
            path.unlink()
        os.close(handle)  # frees the lock


def _try(path: Path) -> int | None:
    """A handle that holds the lock, or None while another does."""
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise OutputUnwritable(path=path.parent, detail=cause(error)) from error
    try:
        _seize(handle)
        # The last holder may have removed the name between our open and our lock.
        if os.fstat(handle).st_ino == path.stat().st_ino:
            return handle
    except OSError:
        pass
    os.close(handle)
    return None
