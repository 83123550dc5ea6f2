"""The socket of a live page: sound in, what to show and to say out.

The guard of the whole application has looked at Host, Origin and device before anything of this
runs.
"""

from __future__ import annotations

import asyncio
import contextlib
import json

from starlette.websockets import WebSocket, WebSocketDisconnect

from recorder.web.live.hub import Hub, Page
from recorder.web.live.messages import MOST_FRAME_BYTES, BadFrame
from recorder.web.live.taking import Taker, now_ms

# Frames that wait for the disk; then the page has to wait, by the window of its connection.
_MOST_WAITING = 256
_GOING_AWAY, _NO_SENSE = 1001, 1008


async def serve(socket: WebSocket, hub: Hub, key: str, device: str) -> None:
    page = hub.enter(key, device, by_socket=True)  # at once: a hub that nobody watches is forgotten
    waiting: asyncio.Queue[bytes | str] = asyncio.Queue(_MOST_WAITING)
    tasks: list[asyncio.Task[None]] = []
    code = _GOING_AWAY
    try:
        await socket.accept()
        page.tell("ready", now_ms=now_ms())
        tasks += [
            asyncio.create_task(_read(socket, hub, page, waiting)),
            asyncio.create_task(_take(hub, page, waiting)),
            asyncio.create_task(_tell(socket, hub, page)),
        ]
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            failure = task.exception()
            if isinstance(failure, BadFrame):
                code = _NO_SENSE
            elif failure is not None and not isinstance(failure, WebSocketDisconnect):
                raise failure
    finally:
        hub.leave(page)
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        with contextlib.suppress(RuntimeError, WebSocketDisconnect):
            await socket.close(code)


async def _read(
    socket: WebSocket, hub: Hub, page: Page, waiting: asyncio.Queue[bytes | str]
) -> None:
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            raise WebSocketDisconnect(message.get("code", _GOING_AWAY))
        data: bytes | str = message.get("bytes") or message.get("text") or ""
        if len(data) > MOST_FRAME_BYTES:
            raise BadFrame("longer than any frame")
        hub.still_here(page)
        await waiting.put(data)


async def _take(hub: Hub, page: Page, waiting: asyncio.Queue[bytes | str]) -> None:
    """All that has come meanwhile goes to the disk together."""
    taker = Taker(hub, page)
    while True:
        frames = [await waiting.get()]
        while not waiting.empty():
            frames.append(waiting.get_nowait())
        await taker.take(frames)


async def _tell(socket: WebSocket, hub: Hub, page: Page) -> None:
    while page.connected:
        await page.awake.wait()
        for message in await page.fetch(hub):
            await socket.send_text(json.dumps(message))
