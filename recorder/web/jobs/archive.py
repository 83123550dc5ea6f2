"""The archive: past jobs by words and conditions, as 'seamnote search' finds them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.disk.home import Home
from recorder.archive.finding.saved import (
    Asked,
    forget_search,
    save_search,
    saved_search,
    saved_searches,
)
from recorder.errors import WrongUse
from recorder.flows.find import SHOWN, Found, find
from recorder.model.base import Value
from recorder.model.fields import FIELDS
from recorder.model.past import OUTCOMES
from recorder.model.plural import counted
from recorder.web.jobs import asking, hits
from recorder.web.jobs.asking import Condition, address
from recorder.web.jobs.work import at_work, form_of, go, house_of, text_in
from recorder.web.pages.rendering import page

UNITS = ("degF", "psi", "inch", "min")


class Kept(Value):
    """A saved search."""

    name: str
    words: str
    address: str


class Archive(Value):
    """Everything that the template may use. asked: as the form shows it. saved: name of the saved
    search that is asked on top of, '' for none. query: the search as an address has it. remarks:
    what else was looked for, what could not be read. without: where nothing was found, what to
    leave out and how many jobs there are then. more: address of a longer list. complaint: what is
    wrong with the search.
    """

    asked: Asked
    saved: str
    query: str
    conditions: tuple[Condition, ...]
    kept: tuple[Kept, ...]
    rows: tuple[hits.Row, ...] = ()
    more: str = ""
    remarks: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    complaint: str = ""
    empty: bool = False


def show(request: Request) -> Response:
    """GET /archive"""
    return _shown(request, request.query_params)


async def save(request: Request) -> Response:
    """POST /archive/save: name, query"""
    form = await form_of(request)
    name, query = text_in(form, "name"), QueryParams(text_in(form, "query"))

    def keep() -> Response:
        home = house_of(request).home
        try:
            save_search(home, name, _whole(home, query)[0].model_copy(update={"limit": None}))
        except WrongUse as error:
            return _shown(request, query, str(error))
        return go(request, address(Asked(), name))

    return await run_in_threadpool(keep)


async def forget(request: Request) -> Response:
    """POST /archive/forget: name"""
    form = await form_of(request)
    await run_in_threadpool(forget_search, house_of(request).home, text_in(form, "name"))
    return go(request, "/archive")


def _shown(request: Request, query: QueryParams, complaint: str = "") -> Response:
    house = house_of(request)
    typed = asking.asked_of(query)
    saved = query.get("saved", "")
    view = Archive(
        asked=typed,
        saved=saved,
        query=address(typed, saved).partition("?")[2],
        conditions=asking.conditions(typed, saved),
        kept=_kept(house.home),
    )
    try:
        with at_work(house):
            found = find(house.home, _whole(house.home, query)[0])
    except WrongUse as error:
        view = view.model_copy(update={"complaint": str(error)})
    else:
        view = view.model_copy(update=_answer(house.home, found, typed, saved))
    if complaint:
        view = view.model_copy(update={"complaint": complaint})
    status = 422 if view.complaint else 200
    return page(
        request, "archive.html", status=status, archive=view, fields=FIELDS, signs=asking.SIGNS,
        outcomes=OUTCOMES, units=UNITS,
    )  # fmt: skip


def _whole(home: Home, query: QueryParams) -> tuple[Asked, str]:
    """What is asked, on top of the saved search that is named. Raises UnknownSearch."""
    asked, saved = asking.asked_of(query), query.get("saved", "")
    return (saved_search(home, saved).narrowed(asked) if saved else asked), saved


def _answer(home: Home, found: Found, typed: Asked, saved: str) -> Mapping[str, Any]:
    limit = min(2 * (typed.limit or SHOWN), asking.MOST_SHOWN)
    longer = address(typed.model_copy(update={"limit": limit}), saved)
    fits = found.more and len(found.hits) < asking.MOST_SHOWN
    return {
        "rows": hits.rows(found),
        "more": longer if fits else "",
        "remarks": tuple(_remarks(found)),
        "without": tuple(_without(found.without)),
        "empty": not found.hits and not any(home.jobs.iterdir()),
    }


def _remarks(found: Found) -> list[str]:
    remarks = [
        f"No job holds “{word}”; looked for {' and '.join(near)}."
        for word, near in found.instead.items()
    ]
    remarks += [f"For “{said}” also found {', '.join(o)}." for said, o in found.also.items()]
    if found.unread:
        folders = counted(found.unread, "job folder")
        remarks.append(f"{folders} cannot be read; 'seamnote archive check' tells more.")
    if found.more and len(found.hits) >= asking.MOST_SHOWN:
        remarks.append(f"More than {len(found.hits)} jobs match; ask for something narrower.")
    return remarks


def _without(loosened: Mapping[str, int]) -> list[str]:
    """'Without “Outcome accepted”: 3 jobs'."""
    told = []
    for condition, number in loosened.items():
        words = condition.removeprefix("--").replace("outcome ", "outcome ", 1)
        told.append(f"Without “{asking.in_words(words)}” there {_are(number)}.")
    return told


def _are(number: int) -> str:
    return f"{'is' if number == 1 else 'are'} {counted(number, 'job')}"


def _kept(home: Home) -> tuple[Kept, ...]:
    return tuple(
        Kept(name=name, words=asking.in_short(asked), address=address(Asked(), name))
        for name, asked in saved_searches(home).items()
    )
