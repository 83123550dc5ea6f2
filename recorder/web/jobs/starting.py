"""The start page: jobs that run, a new one, and the last ones."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from pydantic import AwareDatetime
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.disk.home import Home
from recorder.archive.firm import prepared
from recorder.archive.jobs.folders import job_ids
from recorder.errors import BadJobFolder, UnknownJob
from recorder.model.base import Value
from recorder.model.job import Job, in_force, needs_person
from recorder.web.jobs.noticed import MOST_TOLD, Noticed, noticed
from recorder.web.jobs.work import at_work, form_of, go, house_of
from recorder.web.pages.known import known_job
from recorder.web.pages.rendering import page

SHOWN = 4  # of the jobs that are finished


class Listed(Value):
    """A job in a list. waiting: something in it wants a person."""

    id: str
    title: str
    began_at: AwareDatetime
    place: str
    outcome: str
    waiting: bool


class Start(Value):
    """Everything that the template may use. can_sign: whether there is a key to sign reports.
    noticed: what of presses and templates somebody should look at; more: how many other things.
    cards: job cards that wait.
    """

    running: tuple[Listed, ...]
    last: tuple[Listed, ...]
    can_sign: bool
    noticed: tuple[Noticed, ...] = ()
    more: int = 0
    cards: int = 0


def show(request: Request) -> Response:
    """GET /"""
    house = house_of(request)
    running = house.sessions.unfinished()
    found = noticed(house.home)
    last = (listed(job) for job in _newest(house.home, set(running)))
    view = Start(
        running=tuple(listed(job) for job in _jobs(house.home, reversed(running))),
        last=tuple(job for job, _ in zip(last, range(SHOWN), strict=False)),
        can_sign=house.key is not None,
        noticed=found[:MOST_TOLD],
        more=max(0, len(found) - MOST_TOLD),
        cards=len(prepared.names(house.home)),
    )
    return page(request, "start.html", start=view)


async def begin(request: Request) -> Response:
    """POST /jobs"""
    await form_of(request)
    return await run_in_threadpool(_begin, request)


def _begin(request: Request) -> Response:
    house = house_of(request)
    with at_work(house):
        session = house.sessions.begin()
    return go(request, f"/live/{session.job_id}")


def listed(job: Job) -> Listed:
    known = in_force(job.readings)
    place = [known[name].shown() for name in ("site", "conveyor") if name in known]
    return Listed(
        id=job.id,
        title=job.title(),
        began_at=job.created_at.astimezone(),
        place=", ".join(place),
        outcome=known["outcome"].shown() if "outcome" in known else "",
        waiting=needs_person(job),
    )


def _newest(home: Home, running: set[str]) -> Iterator[Job]:
    return _jobs(home, (each for each in reversed(job_ids(home)) if each not in running))


def _jobs(home: Home, ids: Iterator[str]) -> Iterator[Job]:
    """Those that can be read; 'seamnote archive check' tells of the others."""
    for job_id in ids:
        with contextlib.suppress(BadJobFolder, UnknownJob):
            yield known_job(home, job_id).load()
