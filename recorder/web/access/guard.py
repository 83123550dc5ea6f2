"""The one way in: every request and every socket passes here, before anything else looks at it.

What may not pass is answered here (``rules`` says why); what may is held to its limits while it
comes, and every answer gets its headers.
"""

from __future__ import annotations

import contextlib

from starlette.datastructures import Headers
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from recorder.errors import SeamnoteError
from recorder.web.access import limits, rules
from recorder.web.access import secret as secrets
from recorder.web.access.access import Access
from recorder.web.access.asking import pairing
from recorder.web.access.bodies import Refused, held, seal_in
from recorder.web.access.headers import secured
from recorder.web.access.rules import Refusal
from recorder.web.access.sockets import watched
from recorder.web.pages import errors


class Guard:
    def __init__(self, app: ASGIApp, access: Access) -> None:
        self._app = app
        self._access = access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            await self._request(scope, receive, send)
        elif scope["type"] == "websocket":
            await self._socket(scope, receive, send)
        else:  # the beginning and the end of the server
            await self._app(scope, receive, send)

    async def _request(self, scope: Scope, receive: Receive, send: Send) -> None:
        answering = _Answering(send, scope["path"], self._access.places.origin_of(scope))

        def cut(refusal: Refusal) -> None:
            """Whoever reads the body hears of it, and answers."""
            self._access.told.of(refusal.what)
            answering.close = True  # the rest is not read

        refusal = self._outside(scope) or _too_large(scope)
        body = held(receive, limits.largest(scope["path"]), cut, lambda: self._may_stay(scope))
        if refusal is None and rules.needs_seal(scope):
            try:
                given, body = await seal_in(scope, body)
                refusal = self._unsealed(scope, given)
            except Refused as error:
                refusal = error.refusal
        if refusal is None:
            with contextlib.suppress(ClientDisconnect):  # there is nobody left to be told
                await self._app(scope, body, answering.send)
            return
        if not answering.close:
            cut(refusal)
        answer = _answer(scope, refusal)
        await answer(scope, receive, answering.send)

    async def _socket(self, scope: Scope, receive: Receive, send: Send) -> None:
        refusal = self._outside(scope)
        if refusal:
            self._access.told.of(refusal.what)
            await receive()  # that it wants to connect
            await send({"type": "websocket.close", "code": 1008})
            return
        device = rules.state_of(scope)["device"]
        await watched(self._app, lambda: self._access.still(device))(scope, receive, send)

    def _outside(self, scope: Scope) -> Refusal | None:
        """Who asks is written into the scope for those behind, '' as the seal of a stranger."""
        state = rules.state_of(scope)
        state["device"], state["seal"] = None, ""
        refusal = rules.outside(scope, self._access.places)
        if refusal:
            return refusal
        try:
            device = self._access.device_of(scope)
        except SeamnoteError:  # says where the file lies
            return rules.NOBODY_KNOWN
        if device:
            state["device"] = device
            state["seal"] = secrets.seal(self._access.secret_of(scope))
        return None if device or rules.for_anybody(scope) else rules.UNPAIRED

    def _may_stay(self, scope: Scope) -> bool:
        device = rules.state_of(scope)["device"]
        return device is None or self._access.still(device)

    def _unsealed(self, scope: Scope, given: str) -> Refusal | None:
        wanted = rules.state_of(scope)["seal"]
        return None if wanted and secrets.same(given, wanted) else rules.UNSEALED


def _answer(scope: Scope, refusal: Refusal) -> Response:
    request = Request(scope)
    if refusal is rules.UNPAIRED and not errors.takes_json(request):
        return pairing(request, refusal.status)
    return errors.answer(request, refusal.status, refusal.problem, refusal.remedy)


class _Answering:
    """Sends an answer with the headers that each bears."""

    def __init__(self, send: Send, path: str, place: str | None) -> None:
        self.close = False  # the connection, after the answer
        self._send, self._path, self._place = send, path, place

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = secured(message.get("headers", ()), self._path, self._place)
            if self.close:
                headers.append((b"connection", b"close"))
            message = {**message, "headers": headers}
        await self._send(message)


def _too_large(scope: Scope) -> Refusal | None:
    """By what its head says; one that lies is cut when it comes."""
    said = Headers(scope=scope).get("content-length", "0")
    fits = said.isascii() and said.isdecimal() and int(said[:20]) <= limits.largest(scope["path"])
    return None if fits else rules.TOO_LARGE
