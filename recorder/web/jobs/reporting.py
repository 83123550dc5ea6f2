"""The report of a job on screen: written, shown page by page, verified, given away as PDF."""

from __future__ import annotations

import re
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from recorder.archive.jobs.folder import JobFolder
from recorder.errors import InputRefused, PassphraseMissing, SeamnoteError
from recorder.flows import report as flow
from recorder.flows import verify
from recorder.flows.looking import looking
from recorder.flows.progress import Silent
from recorder.model.base import Value
from recorder.model.job import to_confirm
from recorder.report.identity.identity import Identity
from recorder.web.house import House
from recorder.web.jobs import reported
from recorder.web.jobs.evidence import one_at_a_time
from recorder.web.jobs.verdict import WRONG, Verdict, verdict
from recorder.web.jobs.work import at_work, folder_of, form_of, go, house_of
from recorder.web.pages.rendering import page

_SAFE = re.compile(r"[^A-Za-z0-9_-]+")


class OnScreen(Value):
    """Everything that the template may use. report: None where there is none yet. pages: of it.
    verdict: what verifying it says. doubts: how many values nobody has confirmed.
    """

    id: str
    title: str
    complete: bool
    can_sign: bool
    doubts: int
    report: reported.Report | None
    pages: int = 0
    verdict: Verdict | None = None


def show(request: Request) -> Response:
    """GET /jobs/{id}/report"""
    house, folder = house_of(request), folder_of(request)
    return page(request, "report.html", report=on_screen(house, folder))


def on_screen(house: House, folder: JobFolder) -> OnScreen:
    job = folder.load()
    report = reported.newest_report(folder)
    path = folder.path_of(report.path) if report else None
    return OnScreen(
        id=job.id,
        title=job.title(),
        complete=job.complete,
        can_sign=house.key is not None,
        doubts=len(to_confirm(job)),
        report=report,
        pages=_count(path) if path else 0,
        verdict=_judged(house, path) if path else None,
    )


def _judged(house: House, path: Path) -> Verdict:
    try:
        return verdict(verify.check(house.home, path))
    except InputRefused as error:
        told = error.problem_text.replace(str(path), "the file")
        return Verdict(kind="wrong", headline=WRONG, faults=(told,), doubts=(), facts=())


async def write(request: Request) -> Response:
    """POST /jobs/{id}/report"""
    await form_of(request)
    return await run_in_threadpool(_write, request)


def _write(request: Request) -> Response:
    house, folder = house_of(request), folder_of(request)
    with at_work(house):
        flow.write(house.home, folder, house.settings, key_of(house), Silent())
    return go(request, f"/jobs/{folder.id}/report")


def pdf(request: Request) -> Response:
    """GET /jobs/{id}/report.pdf: the signed file, to be kept."""
    path = newest_path(folder_of(request))
    name = f"{_SAFE.sub('-', path.stem)}.pdf"
    return FileResponse(path, media_type="application/pdf", filename=name)


def picture(request: Request) -> Response:
    """GET /jobs/{id}/report/page/{number}: drawn aside, as the report may be a stranger's."""
    path = newest_path(folder_of(request))
    with one_at_a_time:
        content = looking.page(path, path.name, request.path_params["number"])
    return Response(content, media_type="image/png")


def newest_path(folder: JobFolder) -> Path:
    """Of the newest report. HTTPException 404 where there is none."""
    report = reported.newest_report(folder)
    if report is None:
        raise HTTPException(404)
    return folder.path_of(report.path)


def key_of(house: House) -> Identity:
    """Raises PassphraseMissing where the server was started without it."""
    if house.key is None:
        raise PassphraseMissing
    return house.key


def _count(path: Path) -> int:
    """0 for a file that cannot be shown; verifying tells what is wrong with it."""
    try:
        return looking.pages(path, path.name)
    except SeamnoteError:
        return 0
