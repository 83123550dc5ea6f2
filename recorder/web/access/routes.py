"""The addresses of pairing and of the list of devices."""

from __future__ import annotations

import asyncio

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from recorder.errors import InviteRefused
from recorder.web.access import guesses, inviting, qr
from recorder.web.access.access import INVITED_FOR, LONGEST, Access
from recorder.web.access.asking import pairing
from recorder.web.access.browsers import browser_of
from recorder.web.access.rules import PAIRING
from recorder.web.house import House
from recorder.web.pages.rendering import page

_TOO_OFTEN = "too many codes were tried from here; wait a minute"


def _access(request: Request) -> Access:
    house: House = request.app.state.house
    return house.access


async def _ask(request: Request) -> Response:
    return pairing(request, 200)


async def _pair(request: Request) -> Response:
    """One try with a code. The secret of the device goes into its cookie, and nowhere else."""
    access = _access(request)
    address = request.client.host if request.client else ""
    if not access.guesses.allowed(address):
        wait = {"retry-after": str(int(guesses.WITHIN_S))}
        return pairing(request, 429, _TOO_OFTEN, headers=wait)
    async with request.form(max_files=0, max_fields=8) as form:
        code, name = str(form.get("code", "")), str(form.get("name", ""))
    browser = browser_of(request.headers.get("user-agent", ""))
    held = access.secret_of(request.scope)
    try:
        _, own = await asyncio.to_thread(access.pair, code, name or browser, browser, held)
    except InviteRefused as error:
        access.told.of("a pairing code that is not valid")
        return pairing(request, 403, str(error))
    answer = RedirectResponse("/", status_code=303)
    answer.headers["set-cookie"] = _cookie(access.cookie, own)
    return answer


def _cookie(name: str, secret: str, kept_s: int = int(LONGEST.total_seconds())) -> str:
    """Also over http, which is of this machine alone: browsers take 'Secure' from it there."""
    return f"{name}={secret}; Path=/; Max-Age={kept_s}; Secure; HttpOnly; SameSite=Strict"


async def _list(request: Request) -> Response:
    return await _devices(request)


async def _invite(request: Request) -> Response:
    """The code is shown in the answer itself: no address and no log ever holds it."""
    access = _access(request)
    where = inviting.on_the_network if access.places.lan else inviting.on_this_machine
    return await _devices(request, await asyncio.to_thread(where, access))


async def _devices(request: Request, address: str = "") -> Response:
    access = _access(request)
    return page(
        request,
        "devices.html",
        devices=access.devices(),
        own=request.state.device.number,
        address=address,
        picture=qr.picture(address) if address else "",
        minutes=int(INVITED_FOR.total_seconds() // 60),
        guide=access.guide,
        guide_picture=qr.picture(access.guide.address) if address and access.guide else "",
    )


async def _revoke(request: Request) -> Response:
    number = request.path_params["number"]
    await asyncio.to_thread(_access(request).revoke, number)
    if request.state.device.number != number:
        return RedirectResponse("/devices", status_code=303)
    answer = RedirectResponse(PAIRING, status_code=303)
    answer.headers["set-cookie"] = _cookie(_access(request).cookie, "", kept_s=0)
    return answer


ROUTES: list[BaseRoute] = [
    Route(PAIRING, _ask),
    Route(PAIRING, _pair, methods=["POST"]),
    Route("/devices", _list),
    Route("/devices/invite", _invite, methods=["POST"]),
    Route("/devices/{number:int}/revoke", _revoke, methods=["POST"]),
]
