"""The application: all rooms behind one guard."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from pathlib import Path

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from recorder.web.access import routes as access
from recorder.web.access.guard import Guard
from recorder.web.house import House
from recorder.web.jobs import routes as jobs
from recorder.web.knowhow import routes as knowhow
from recorder.web.live import routes as live
from recorder.web.pages import errors

STATIC = Path(__file__).parent / "static"


class Application(Starlette):
    """Outside of everything stands the guard, so that its headers are on failures too."""

    def __init__(self, house: House, routes: list[BaseRoute]) -> None:
        super().__init__(routes=routes, exception_handlers=errors.EXCEPTION_HANDLERS)
        self.state.house = house

    def build_middleware_stack(self) -> ASGIApp:
        house: House = self.state.house
        return Guard(super().build_middleware_stack(), house.access)


def application(house: House) -> Application:
    files = [
        Mount("/static", StaticFiles(directory=STATIC), name="static"),
        Route("/manifest.webmanifest", _file("manifest.webmanifest", "application/manifest+json")),
        Route("/service-worker.js", _file("service-worker.js", "text/javascript")),
    ]
    return Application(house, [*access.ROUTES, *live.ROUTES, *jobs.ROUTES, *knowhow.ROUTES, *files])


def _file(name: str, kind: str) -> Callable[[Request], Awaitable[Response]]:
    """A file of the program that browsers look for at the root."""

    async def answer(request: Request) -> Response:
        return FileResponse(STATIC / name, media_type=kind)

    return answer
