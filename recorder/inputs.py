"""A file from outside, read whole: as large as is sane, and no pipe or device, which never ends."""

from __future__ import annotations

import stat
from pathlib import Path

from recorder.errors import FileMissing, FileTooLarge, InputRefused


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
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        detail = getattr(error, "strerror", None) or str(error)
        raise InputRefused(path=path, detail=detail) from error
