"""What a device sends as a file: on the disk of the home at once, for its owner alone, under a name
of ours. Whoever takes it looks at its first bytes before anything decodes it.
"""

from __future__ import annotations

import asyncio
import contextlib
import os
import secrets
import time
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from typing import BinaryIO

from starlette.requests import Request

from recorder.archive.disk.home import Home, cause
from recorder.errors import OutputUnwritable
from recorder.web.access.devices import FOLDER, make_private
from recorder.web.access.limits import WHOLE_S

_INCOMING = "incoming"
_AT_ONCE = 1024 * 1024  # bytes, so that a slow disk holds up nobody else


@contextlib.asynccontextmanager
async def received(request: Request, home: Home) -> AsyncIterator[Path]:
    """The body of a request as a file, gone afterwards. The guard holds it to its limit.

    Raises OutputUnwritable, and what reading the body can raise.
    """
    folder = home.root / FOLDER / _INCOMING
    path = folder / secrets.token_hex(16)
    try:
        with _told_as_unwritable(folder):
            handle = await asyncio.to_thread(_begin, path)
            with os.fdopen(handle, "wb") as file:
                await _write(request, file)
        yield path
    finally:
        with contextlib.suppress(OSError):
            path.unlink()


async def _write(request: Request, file: BinaryIO) -> None:
    waiting = bytearray()
    async for piece in request.stream():
        waiting += piece
        if len(waiting) >= _AT_ONCE:
            await asyncio.to_thread(file.write, bytes(waiting))
            waiting.clear()
    await asyncio.to_thread(file.write, bytes(waiting))
    await asyncio.to_thread(file.flush)


@contextlib.contextmanager
def _told_as_unwritable(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputUnwritable(path=folder, detail=cause(error)) from error


def sweep(home: Home) -> None:
    """Remove what a server that was killed left; not what another one may be receiving now."""
    for left in (home.root / FOLDER / _INCOMING).glob("*"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > 2 * WHOLE_S:
                left.unlink()


def _begin(path: Path) -> int:
    for folder in (path.parent.parent, path.parent):
        make_private(folder)
    return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
