"""Write a file so that at every moment, also after a power cut, it is the old or the new one."""

from __future__ import annotations

import contextlib
import errno
import glob
import os
import secrets
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path

from recorder.archive.disk.home import cause
from recorder.errors import OutputUnwritable


def write(path: Path, content: bytes) -> None:
    """Replace ``path`` by ``content``; on return it has reached the disk.

    Raises OutputUnwritable, and then the old content stands. A process killed on the way may
    leave a temporary file beside it: see ``sweep``.
    """
    temporary = stage(path, content)
    with _gone_when_failed(temporary):
        put(temporary, path)


def write_all(contents: Mapping[Path, bytes]) -> None:
    """``write`` of each in this order; of none where one cannot be brought to the disk."""
    with contextlib.ExitStack() as failed:
        temporaries = []
        for path, content in contents.items():
            temporaries.append(stage(path, content))
            failed.enter_context(_gone_when_failed(temporaries[-1]))
        for path, temporary in zip(contents, temporaries, strict=True):
            put(temporary, path)


def stage(path: Path, content: bytes) -> Path:
    """Bring ``content`` to the disk, in a temporary file beside ``path``. OutputUnwritable."""
    if not path.name:
        raise OutputUnwritable(path=path, detail="it is a folder")
    temporary = path.with_name(f".{path.name}.{secrets.token_hex(4)}.tmp")
    try:
        with _gone_when_failed(temporary), temporary.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise OutputUnwritable(path=path, detail=cause(error)) from error
    return temporary


def put(temporary: Path, path: Path) -> None:
    """Let a staged file take the place of ``path``. Raises OutputUnwritable, and then it lies
    where it was, unless the folder could not be brought to the disk.
    """
    try:
        os.replace(temporary, path)  # noqa: PTH105
        sync_folder(path.parent)
    except OSError as error:
        raise OutputUnwritable(path=path, detail=cause(error)) from error


@contextlib.contextmanager
def _gone_when_failed(temporary: Path) -> Iterator[None]:
    try:
        yield
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise


def staged(path: Path) -> list[Path]:
    """What killed writers of ``path`` left beside it."""
    return list(path.parent.glob(f".{glob.escape(path.name)}.*.tmp"))


def make_folder(folder: Path) -> None:
    """Make a folder where there is none yet, and bring its name to the disk. OutputUnwritable."""
    try:
        if not folder.is_dir():
            folder.mkdir(exist_ok=True)
            sync_folder(folder.parent)
    except OSError as error:
        raise OutputUnwritable(path=folder, detail=cause(error)) from error


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
    for stale in staged(path):
        with contextlib.suppress(OSError):
            stale.unlink()


def need_regular(path: Path) -> None:
    """Raises OSError for what is no regular file: to open a pipe would wait without end."""
    if not stat.S_ISREG(path.stat().st_mode):
        raise OSError(errno.EINVAL, f"{path.name} is not a regular file", str(path))
