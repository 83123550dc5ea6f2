"""One shape for every failure: what is wrong, and what to do. Never a traceback.

Who asks for a page gets it as HTML; a script, as ``{"error", "remedy"}``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

from recorder.errors import (
    AmbiguousJob,
    Busy,
    FileTooLarge,
    HomeUnusable,
    InputRefused,
    JobChanged,
    JobUnfinished,
    OutputUnwritable,
    PassphraseMissing,
    PlaceUnusable,
    SeamnoteError,
    UnknownJob,
    UnknownName,
    UnknownRecipe,
    UnknownSearch,
    VerificationFailed,
    WrongUse,
)
from recorder.web.pages.rendering import page

# The first class that fits counts.
_STATUS: tuple[tuple[type[SeamnoteError], int], ...] = (
    (AmbiguousJob, 404),
    (UnknownJob, 404),
    (UnknownSearch, 404),
    (UnknownRecipe, 404),
    (UnknownName, 404),
    (FileTooLarge, 413),
    (JobChanged, 409),
    (WrongUse, 422),
    (InputRefused, 422),
    (VerificationFailed, 422),
    (Busy, 503),
    (PlaceUnusable, 503),
)
# What to do here, where the error speaks of commands in a terminal.
_HERE: tuple[tuple[type[SeamnoteError], str], ...] = (
    (UnknownJob, "look for it in the archive"),
    (UnknownRecipe, "look for it among the recipes"),
    (UnknownName, "choose one that the page offers"),
    (JobUnfinished, "finish the job first"),
    (PassphraseMissing, "start Seamnote again and give the passphrase"),
    (OutputUnwritable, "look at the disk of the machine that runs Seamnote: it may be full"),
    (HomeUnusable, "look at the disk of the machine that runs Seamnote: it may be full"),
)
_WORDS: Mapping[int, tuple[str, str]] = {
    400: (
        "the page sent something that cannot be read",
        "go back and try once more",
    ),
    401: ("this device is not paired", "pair it on the machine that runs Seamnote"),
    403: ("this is not allowed from here", "open the page anew on a device that is paired"),
    404: ("there is nothing at this address", "go to the start page"),
    405: ("this address does not take that", "go to the start page"),
    408: ("what was sent came too slowly", "come nearer to the network and send it again"),
    413: ("what was sent is too large", "send a smaller file"),
    415: ("this kind of file is not taken", "send a jpg, png or heic picture"),
    429: ("that was tried too often", "wait a minute and try again"),
}
_UNFORESEEN = ("something failed that nobody foresaw", "what was kept is safe; please report this")


def answer(request: Request, status: int, error: str, remedy: str) -> Response:
    """A failure in the form that the asking side reads."""
    if takes_json(request):
        return JSONResponse({"error": error, "remedy": remedy}, status)
    return page(request, "error.html", status=status, error=error, remedy=remedy)


def refusal(scope: Scope, status: int, error: str, remedy: str) -> Response:
    """As ``answer``, for who stands before all routes."""
    return answer(Request(scope), status, error, remedy)


def takes_json(request: Request) -> bool:
    """Whether a script asks; a browser that opens a page names HTML."""
    return "text/html" not in request.headers.get("accept", "")


def status_of(error: SeamnoteError) -> int:
    return next((status for kind, status in _STATUS if isinstance(error, kind)), 500)


def words_of(request: Request, error: SeamnoteError) -> tuple[str, str]:
    """What is wrong, and what to do about it here."""
    app = request.scope.get("app")
    house = getattr(app.state, "house", None) if app else None
    return words(error, str(house.home.root) if house else "")


def words(error: SeamnoteError, home: str) -> tuple[str, str]:
    """The same for who has no request. home: where it lies."""
    here = (words for kind, words in _HERE if isinstance(error, kind))
    remedy = next(here, error.remedy_text)
    return without_home(error.problem_text, home), without_home(remedy, home)


def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, SeamnoteError)
    return answer(request, status_of(error), *words_of(request, error))


def without_home(text: str, home: str) -> str:
    """Where the home lies on the disk is nobody's business but the machine's. home: '' for none."""
    return text.replace(f"{home}/", "").replace(home, "of Seamnote") if home else text


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    told, remedy = _WORDS.get(error.status_code, _UNFORESEEN)
    response = answer(request, error.status_code, told, remedy)
    response.headers.update(error.headers or {})
    return response


def _unforeseen(request: Request, error: Exception) -> Response:
    return answer(request, 500, *_UNFORESEEN)


# For ``Starlette(exception_handlers=…)``.
EXCEPTION_HANDLERS: dict[Any, Callable[[Request, Exception], Response]] = {
    SeamnoteError: _told,
    HTTPException: _http,
    Exception: _unforeseen,
}
