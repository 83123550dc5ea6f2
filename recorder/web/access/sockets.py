"""A socket that closes when its device is revoked, and takes no message beyond the limit."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from recorder.web.access.limits import LARGEST_MESSAGE

LOOK_S = 1.0  # how often an open socket looks whether its device may stay
_REVOKED, _TOO_LARGE = 1008, 1009  # RFC 6455, 7.4.1: policy violation, message too big


def watched(app: ASGIApp, may_stay: Callable[[], bool]) -> ASGIApp:
    """The application behind sees an ordinary disconnect, and what it sends after that goes
    nowhere.
    """

    async def run(scope: Scope, receive: Receive, send: Send) -> None:
        closed = False

        async def close(code: int) -> Message:
            nonlocal closed
            if not closed:
                closed = True
                await send({"type": "websocket.close", "code": code})
            return {"type": "websocket.disconnect", "code": code}

        waiting: asyncio.Future[Message] | None = None

        async def next_message() -> Message:
            """What came, or the disconnect of a device that was revoked meanwhile."""
            nonlocal waiting
            while not closed:
                waiting = waiting or asyncio.ensure_future(receive())
                done, _ = await asyncio.wait((waiting,), timeout=LOOK_S)
                if not may_stay():
                    return await close(_REVOKED)
                if done:
                    message, waiting = waiting.result(), None
                    return await close(_TOO_LARGE) if _too_large(message) else message
            return {"type": "websocket.disconnect", "code": _REVOKED}

        async def send_on(message: Message) -> None:
            if not closed:
                await send(message)

        try:
            await app(scope, next_message, send_on)
        finally:
            if waiting:
                waiting.cancel()

    return run


def _too_large(message: Message) -> bool:
    size = max(len(message.get("bytes") or b""), len((message.get("text") or "").encode()))
    return message["type"] == "websocket.receive" and size > LARGEST_MESSAGE
