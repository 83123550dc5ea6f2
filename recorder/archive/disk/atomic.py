"""Write a file so that at every moment, also after a power cut, it is the old or the new one."""

from __future__ import annotations

import contextlib
import os
import secrets
from pathlib import Path

from recorder.archive.disk.home import cause
from recorder.errors import OutputUnwritable


def write(path: Path, content: bytes) -> None:
    """Replace ``path`` by ``content``; on return it has reached the disk.

    Raises OutputUnwritable, and then the old content stands. A process killed on the way may
    leave a temporary file beside it: see ``sweep``.
    """
    temporary = path.with_name(f".{path.name}.{secrets.token_hex(4)}.tmp")
    try:
        try:
            with temporary.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, path)  # noqa: PTH105
            sync_folder(path.parent)
        except BaseException:
            with contextlib.suppress(OSError):
                temporary.unlink()
            raise
    except OSError as error:
        raise OutputUnwritable(path=path, detail=cause(error)) from error


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to the disk. Windows keeps them without being asked."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sweep(path: Path) -> None:
    """Remove what killed writers of ``path`` left. Only while no other can be writing it."""
    for stale in path.parent.glob(f".{path.name}.*.tmp"):
        with contextlib.suppress(OSError):
            stale.unlink()
