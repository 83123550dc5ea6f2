"""A person's answers to the values of a job: yes, another value, a value that was not told."""

from __future__ import annotations

from collections.abc import Callable

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.jobs.folder import JobFolder
from recorder.errors import WrongUse
from recorder.flows import review as flow
from recorder.model.job import Job
from recorder.web.house import House
from recorder.web.jobs.review import shown
from recorder.web.jobs.work import at_work, folder_of, form_of, go, house_of, number_in, text_in


async def confirm(request: Request) -> Response:
    """POST /jobs/{id}/confirm: place"""
    form = await form_of(request)
    place = number_in(form, "place")
    return await run_in_threadpool(
        _answer, request, f"{place}", "", lambda house, job: flow.say_yes(house.home, job, place)
    )


async def replace(request: Request) -> Response:
    """POST /jobs/{id}/replace: place, and text or the number of a candidate"""
    form = await form_of(request)
    place, text, candidate = (
        number_in(form, "place"),
        text_in(form, "text"),
        number_in(form, "candidate"),
    )

    def answer(house: House, folder: JobFolder) -> Job:
        if candidate >= 0:
            return flow.choose(house.home, folder, place, candidate)
        return flow.replace(house.home, folder, place, text)

    return await run_in_threadpool(_answer, request, f"{place}", text, answer)


async def enter(request: Request) -> Response:
    """POST /jobs/{id}/enter: field, text, splice, run"""
    form = await form_of(request)
    field, text = text_in(form, "field"), text_in(form, "text")
    splice, run = number_in(form, "splice", 1), number_in(form, "run", 1)

    def answer(house: House, folder: JobFolder) -> Job:
        return flow.enter(house.home, folder, field, text, splice, run)

    return await run_in_threadpool(_answer, request, field, text, answer)


def _answer(
    request: Request, of: str, typed: str, take: Callable[[House, JobFolder], Job]
) -> Response:
    """of: the form that asks, which a refusal is shown beside."""
    house, folder = house_of(request), folder_of(request)
    try:
        with at_work(house):
            take(house, folder)
    except WrongUse as error:
        return shown(request, folder, str(error), of, typed)
    return go(request, f"/jobs/{folder.id}#waiting")
