"""A file that goes out of the archive: whole under its name, and never over another unasked."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
from collections.abc import Iterator
from pathlib import Path

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import cause
from recorder.errors import OutputExists, OutputUnwritable


@contextlib.contextmanager
def placed(target: Path, replace: bool) -> Iterator[Path]:
    """An empty file beside ``target``, to be written, brought to the disk and examined inside; at
    the end it gets the name. When anything fails it is gone, and what was there stands.

    Only its owner can read it: it may hold keys, and a customer's data. Raises OutputExists
    unless ``replace``, OutputUnwritable (also for an OSError inside), Busy.
    """
    _refuse_existing(target, replace)  # first, since a folder has no place for a lock
    with lock.held(target):
        atomic.sweep(target)  # what a killed writer left
        temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.tmp")
        try:
            os.close(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
            yield temporary
            _refuse_existing(target, replace)
            temporary.replace(target)
            _sync_folder(target.parent)
        except OSError as error:
            raise OutputUnwritable(path=target, detail=cause(error)) from error
        finally:
            with contextlib.suppress(OSError):
                temporary.unlink()


def _sync_folder(folder: Path) -> None:
    """As far as the place can do it: not every network share brings a folder to the disk."""
    try:
        atomic.sync_folder(folder)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise


def _refuse_existing(target: Path, replace: bool) -> None:
    if target.exists() or target.is_symlink():
        if not target.is_file():
            raise OutputUnwritable(path=target, detail="it is no file that can be replaced")
        if not replace:
            raise OutputExists(path=target)
