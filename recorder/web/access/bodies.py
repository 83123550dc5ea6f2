"""The body of a request, held to its limits while it comes; and the seal inside of a form."""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Callable
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.types import Message, Receive, Scope

from recorder.web.access import limits
from recorder.web.access.rules import TOO_LARGE, TOO_SLOW, UNPAIRED, Refusal

FIELD = "seal"
HEADER = "x-seamnote-seal"
_FIRST_PART = 4 * 1024  # bytes in which the seal of a multipart form must have come
_SEALED_PART = re.compile(
    rb"\A(?:\r\n)?--[^\r\n]{1,100}\r\n"
    rb'(?i:content-disposition): *form-data; *name="seal"\r\n'
    rb"(?:[^\r\n]+\r\n)*\r\n"
    rb"([0-9a-f]{64})\r\n"
)


class Refused(HTTPException):
    """The body is not taken. refusal: why. Raised to whoever reads it, and answered like every
    other failure.
    """

    def __init__(self, refusal: Refusal) -> None:
        super().__init__(refusal.status)
        self.refusal = refusal


def held(
    receive: Receive,
    most: int,
    on_refused: Callable[[Refusal], None],
    may_stay: Callable[[], bool] = lambda: True,
) -> Receive:
    """The body, piece by piece, which raises Refused when it is longer than ``most`` bytes,
    whatever its head said, or comes too slowly; or when its device was revoked while it came.
    """
    taken = 0
    ends_s = time.monotonic() + limits.WHOLE_S
    more = True

    def refuse(refusal: Refusal) -> Refused:
        on_refused(refusal)
        return Refused(refusal)

    async def piece() -> Message:
        nonlocal taken, more
        if not more:
            return await receive()  # waits for the end of the connection
        try:
            left_s = min(limits.PAUSE_S, ends_s - time.monotonic())
            message = await asyncio.wait_for(receive(), left_s)
        except TimeoutError:
            raise refuse(TOO_SLOW) from None
        if message["type"] == "http.request":
            taken += len(message.get("body", b""))
            more = message.get("more_body", False)
            if taken > most:
                raise refuse(TOO_LARGE)
            if not more and not may_stay():
                raise refuse(UNPAIRED)
        else:
            more = False
        return message

    return piece


async def seal_in(scope: Scope, receive: Receive) -> tuple[str, Receive]:
    """The seal that came with a request, '' without, and the body from its beginning.

    As a header from scripts. From forms as the field 'seal': anywhere in an urlencoded one, which
    is short; the first of a multipart one, so that a file behind it need not be held.
    """
    headers = Headers(scope=scope)
    given = headers.get(HEADER)
    kind = headers.get("content-type", "").partition(";")[0].strip().lower()
    if given is not None:
        return given, receive
    if kind == "application/x-www-form-urlencoded":
        read, again = await _begun(receive, limits.USUAL)
        try:
            return parse_qs(read.decode("latin-1"), max_num_fields=200).get(FIELD, [""])[0], again
        except ValueError:
            return "", again
    if kind == "multipart/form-data":
        read, again = await _begun(receive, _FIRST_PART)
        found = _SEALED_PART.match(read)
        return found[1].decode() if found else "", again
    return "", receive


async def _begun(receive: Receive, enough: int) -> tuple[bytes, Receive]:
    """The first bytes of a body, at least ``enough`` or all; and the body from its start."""
    messages: list[Message] = []
    read = b""
    while len(read) < enough:
        message = await receive()
        messages.append(message)
        read += message.get("body", b"")
        if message["type"] != "http.request" or not message.get("more_body", False):
            break
    messages.reverse()

    async def again() -> Message:
        return messages.pop() if messages else await receive()

    return read, again
