"""How a phone learns to trust this machine: one page and the certificate, by plain http, as the
phone trusts no https of it yet. Nothing else is served here, nothing is taken, nobody is known.

Who sits in the same network could give the phone another certificate; that is what people compare
the SHA-256 for.
"""

from __future__ import annotations

from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from recorder.web.access.access import Access
from recorder.web.access.authority import Authority
from recorder.web.access.headers import secured
from recorder.web.access.rules import NOT_TAKEN, SAFE_METHODS, STRANGE_PLACE
from recorder.web.pages import errors
from recorder.web.pages.rendering import page

CERTIFICATE = "/seamnote-authority.crt"
_STATIC = Path(__file__).parents[1] / "static"
_LOOK = {
    "look.css": "text/css",
    "devices.css": "text/css",
    "seam.svg": "image/svg+xml",
    "icon.svg": "image/svg+xml",
}


class GuideDoor:
    """Takes what is asked of its own names, by GET alone."""

    def __init__(self, app: ASGIApp, access: Access) -> None:
        self._app, self._access = app, access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def answer(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = secured(message.get("headers", ()), scope["path"], None)
                message = {**message, "headers": [*headers, (b"connection", b"close")]}
            await send(message)

        if scope["type"] != "http":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        known = self._access.places.guides(scope)
        refusal = STRANGE_PLACE if not known else None
        if scope["method"] not in SAFE_METHODS:
            refusal = refusal or NOT_TAKEN
        if refusal:
            said = errors.refusal(scope, refusal.status, refusal.problem, refusal.remedy)
            await said(scope, receive, answer)
            return
        await self._app(scope, receive, answer)


def guide(access: Access, authority: Authority) -> ASGIApp:
    async def show(request: Request) -> Response:
        return page(
            request,
            "trust.html",
            guide=access.guide,
            certificate=CERTIFICATE,
            machine=access.places.lan[-1] if access.places.lan else "",
        )

    async def certificate(request: Request) -> Response:
        return Response(authority.certificate, media_type="application/x-x509-ca-cert")

    def look(name: str, kind: str) -> Route:
        async def answer(request: Request) -> Response:
            return FileResponse(_STATIC / name, media_type=kind)

        return Route(f"/static/{name}", answer)

    routes = [Route("/", show), Route(CERTIFICATE, certificate)]
    routes += [look(name, kind) for name, kind in _LOOK.items()]
    inner = Starlette(routes=routes, exception_handlers=errors.EXCEPTION_HANDLERS)
    return GuideDoor(inner, access)
