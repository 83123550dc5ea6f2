"""What the camera of a page sends: frames for a hint, and photos for the record."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from pathlib import Path

from starlette.requests import Request

from recorder.archive.disk.home import Home
from recorder.flows.live.session import LiveSession
from recorder.flows.looking import looking
from recorder.web.access.uploads import received

# By its first bytes; what begins otherwise is refused when it is looked at.
_JPEG, _PNG = b"\xff\xd8", b"\x89PNG"
# One is looked at while the next comes; however many are sent, they take no other threads.
_LOOKING = ThreadPoolExecutor(2, thread_name_prefix="hint")


async def hint(request: Request) -> dict[str, object]:
    """What a frame says of the photo that would be taken now, whose longer side is ``px``."""
    frame = await request.body()
    loop = asyncio.get_running_loop()
    told = await loop.run_in_executor(_LOOKING, looking.preview, frame, _photo_px(request))
    return told.model_dump(mode="json")


async def keep(request: Request, session: LiveSession, home: Home) -> None:
    """The body is the photo. Its name is made here. Raises what ``LiveSession.photo`` raises."""
    async with received(request, home) as path:
        await asyncio.to_thread(_keep, path, session)


def _photo_px(request: Request) -> int:
    given = request.query_params.get("px", "")
    return int(given) if given.isascii() and given.isdecimal() and len(given) < 6 else 0


def _keep(path: Path, session: LiveSession) -> None:
    with path.open("rb") as file:
        head = file.read(len(_PNG))
    session.photo(path, f"photo_{datetime.now():%H%M%S}{_ending(head)}")


def _ending(head: bytes) -> str:
    if head.startswith(_JPEG):
        return ".jpg"
    return ".png" if head == _PNG else ".heic"
