"""A file from outside, read: as much as is sane, and no pipe or device, which never ends."""

from __future__ import annotations

import stat
from pathlib import Path

from recorder.errors import FileMissing, FileTooLarge, InputRefused


def read_head(path: Path, count: int = 32) -> bytes:
    """The first bytes of a regular file. Raises FileMissing or InputRefused."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise InputRefused(path=path, detail="not a regular file")
        with path.open("rb") as file:
            return file.read(count)
    except (OSError, ValueError) as error:
        raise _refused(path, error) from error


def read_whole(path: Path, most_bytes: int) -> bytes:
    """The content of a regular file. Raises FileMissing, FileTooLarge or InputRefused."""
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise InputRefused(path=path, detail="not a regular file")
        if found.st_size > most_bytes:
            size, limit = (f"{n / 1e6:.0f} MB" for n in (found.st_size, most_bytes))
            raise FileTooLarge(path=path, size=size, limit=limit)
        return path.read_bytes()
    except (OSError, ValueError) as error:
        raise _refused(path, error) from error


def _refused(path: Path, error: OSError | ValueError) -> InputRefused:
    """ValueError: a NUL in the name."""
    if isinstance(error, FileNotFoundError):
        return FileMissing(path=path)
    return InputRefused(path=path, detail=getattr(error, "strerror", None) or str(error))
