"""The job card of the next job: made of a past job, a recipe, a conveyor, words, typed values.

Nothing is kept between two requests: each makes the draft anew from what the form holds.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from recorder.errors import InputRefused, SeamnoteError, WrongUse
from recorder.flows.knowhow import card_page, card_text, prepared
from recorder.flows.knowhow.drafting import Draft
from recorder.web.house import House
from recorder.web.jobs.work import at_work, form_of, go, house_of, text_in
from recorder.web.knowhow import card, drafted
from recorder.web.knowhow.drafted import Asked
from recorder.web.pages.errors import status_of, words_of
from recorder.web.pages.rendering import page

_SAFE = re.compile(r"[^A-Za-z0-9_-]+")
_Use = Callable[[House, Draft], Response]


def show(request: Request) -> Response:
    """GET /prepare?from_job=…&from_recipe=…&from_conveyor=…"""
    return _shown(request, drafted.asked_of(request.query_params))


async def look(request: Request) -> Response:
    """POST /prepare: the form; take: a field whose proposed answer is right"""
    form = await _form(request)
    asked, take = drafted.asked_of(form), text_in(form, "take")
    return await run_in_threadpool(_shown, request, asked, take)


async def file(request: Request) -> Response:
    """POST /prepare/card: the form; as: pdf or toml"""
    form = await _form(request)
    use = _toml if text_in(form, "as") == "toml" else _pdf
    return await run_in_threadpool(_used, request, drafted.asked_of(form), use)


async def start(request: Request) -> Response:
    """POST /prepare/start: the form; a live job begins with the card"""

    def use(house: House, draft: Draft) -> Response:
        session = house.sessions.begin(card_text.text(draft, _now()).encode())
        return go(request, f"/live/{session.job_id}")

    asked = drafted.asked_of(await _form(request))
    return await run_in_threadpool(_used, request, asked, use)


async def keep(request: Request) -> Response:
    """POST /prepare/keep: the form; the card waits until somebody begins with it"""

    def use(house: House, draft: Draft) -> Response:
        prepared.keep(house.home, draft)
        return go(request, "/prepare#waiting")

    asked = drafted.asked_of(await _form(request))
    return await run_in_threadpool(_used, request, asked, use)


async def begin(request: Request) -> Response:
    """POST /prepare/begin: name of a card that waits"""
    name = text_in(await form_of(request), "name")
    return await run_in_threadpool(_begin, request, name)


async def discard(request: Request) -> Response:
    """POST /prepare/discard: name of a card that waits"""
    name = text_in(await form_of(request), "name")
    await run_in_threadpool(prepared.discard, house_of(request).home, name)
    return go(request, "/prepare")


async def _form(request: Request) -> FormData:
    return await form_of(request, fields=drafted.MOST_FIELDS)


def _begin(request: Request, name: str) -> Response:
    """Raises UnknownName, BadJobCard."""
    house = house_of(request)
    with at_work(house):
        session = house.sessions.begin_prepared(name)
    return go(request, f"/live/{session.job_id}")


def _used(request: Request, asked: Asked, use: _Use) -> Response:
    """What is done with a draft; the form again where there is none."""
    house = house_of(request)
    try:
        with at_work(house):
            return use(house, drafted.draft_of(house, asked))
    except (WrongUse, InputRefused) as error:
        return _shown(request, asked, error=error)


def _pdf(house: House, draft: Draft) -> Response:
    content = card_page.pdf(house.home, house.settings, draft, _now())
    return _kept(content, "application/pdf", "job_card", "pdf", draft)


def _toml(house: House, draft: Draft) -> Response:
    content = card_text.text(draft, _now()).encode()
    return _kept(content, "application/toml", "job", "toml", draft)


def _kept(content: bytes, kind: str, stem: str, ending: str, draft: Draft) -> Response:
    told = "-".join(filter(None, map(draft.text, ("job_number", "conveyor"))))
    name = _SAFE.sub("-", f"{stem}-{told}")[:80].strip("-")
    headers = {"content-disposition": f'attachment; filename="{name}.{ending}"'}
    return Response(content, media_type=kind, headers=headers)


def _shown(
    request: Request, asked: Asked, take: str = "", error: SeamnoteError | None = None
) -> Response:
    house, draft = house_of(request), None
    if asked.anything and error is None:
        try:
            with at_work(house):
                draft = drafted.draft_of(house, asked)
                if take:
                    asked = drafted.taken(asked, draft, take)
                    draft = drafted.draft_of(house, asked)
        except (WrongUse, InputRefused) as failure:
            error = failure
    told = "; ".join(words_of(request, error)) if error else ""
    view = card.view(house, asked, draft, told)
    status = status_of(error) if error else 200
    return page(request, "knowhow/prepare.html", status=status, prepare=view)


def _now() -> datetime:
    return datetime.now().astimezone().replace(microsecond=0)
