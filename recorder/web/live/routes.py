"""The addresses of a live session."""

from __future__ import annotations

import asyncio

from starlette.exceptions import HTTPException
from starlette.requests import HTTPConnection, Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route, WebSocketRoute
from starlette.websockets import WebSocket

from recorder.errors import EngineMissing, SeamnoteError, SessionOver
from recorder.web.house import House
from recorder.web.live import socket as page_socket
from recorder.web.live.acts import act
from recorder.web.live.hub import Hub
from recorder.web.live.hubs import hubs_of
from recorder.web.live.messages import MOST_BODY_BYTES, BadFrame, body_frames
from recorder.web.live.parts import fields
from recorder.web.live.pictures import hint, keep
from recorder.web.live.taking import Taker, now_ms
from recorder.web.pages.rendering import page

_KEY_FORM = frozenset("0123456789abcdef")
_REFUSED = 1008


async def _show(request: Request) -> Response:
    try:
        hub = await _hub(request)
    except SessionOver:
        return RedirectResponse(f"/jobs/{request.path_params['id']}", status_code=303)
    view = await asyncio.to_thread(hub.session.view)
    if view.finished:
        return RedirectResponse(f"/jobs/{view.job}", status_code=303)
    return page(request, "live.html", view=view, regions=await hub.parts(), fields=fields())


async def _parts(request: Request) -> Response:
    return JSONResponse(dict(await (await _hub(request)).parts()))


async def _socket(socket: WebSocket) -> None:
    key = socket.query_params.get("page", "")
    try:
        hub = await _hub(socket)
    except SeamnoteError:
        await socket.close(_REFUSED)
        return
    if not _is_key(key):
        await socket.close(_REFUSED)
        return
    await page_socket.serve(socket, hub, key, _device(socket))


async def _sound(request: Request) -> Response:
    """Frames in, messages out: what a socket does, for a browser that refuses it."""
    key = request.query_params.get("page", "")
    if not _is_key(key):
        raise HTTPException(400)
    hub = await _hub(request)
    anew = "anew" in request.query_params
    watcher = hub.visit(key, _device(request), anew=anew)
    if anew:
        watcher.tell("ready", now_ms=now_ms())
    body = await request.body()
    if len(body) > MOST_BODY_BYTES:
        raise HTTPException(413)
    try:
        await Taker(hub, watcher).take(list(body_frames(body)))
    except BadFrame as failure:
        raise HTTPException(400) from failure
    return JSONResponse(await watcher.fetch(hub))


async def _speech(request: Request) -> Response:
    hub = await _hub(request)
    try:
        sound = await asyncio.to_thread(hub.session.say, request.path_params["name"])
    except (KeyError, EngineMissing) as failure:
        raise HTTPException(404) from failure
    return Response(sound, media_type="audio/wav")


async def _act(request: Request) -> Response:
    hub = await _hub(request)
    body = await request.body()
    try:
        await asyncio.to_thread(act, hub.session, body)
    except BadFrame as failure:
        raise HTTPException(400) from failure
    return JSONResponse({"done": True})


async def _photo(request: Request) -> Response:
    hub = await _hub(request)
    house: House = request.app.state.house
    await keep(request, hub.session, house.home)
    return JSONResponse({"done": True})


async def _preview(request: Request) -> Response:
    await _hub(request)
    return JSONResponse(await hint(request))


async def _hub(connection: HTTPConnection) -> Hub:
    return await hubs_of(connection.app).of(connection.path_params["id"])


def _device(connection: HTTPConnection) -> str:
    device = getattr(connection.state, "device", None)
    return "" if device is None else str(device.name)


def _is_key(key: str) -> bool:
    return len(key) == 32 and set(key) <= _KEY_FORM


ROUTES: list[BaseRoute] = [
    Route("/live/{id}", _show),
    Route("/live/{id}/parts", _parts),
    WebSocketRoute("/live/{id}/socket", _socket),
    Route("/live/{id}/sound", _sound, methods=["POST"]),
    Route("/live/{id}/speech/{name}", _speech),
    Route("/live/{id}/act", _act, methods=["POST"]),
    Route("/live/{id}/photo", _photo, methods=["POST"]),
    Route("/live/{id}/preview", _preview, methods=["POST"]),
]
