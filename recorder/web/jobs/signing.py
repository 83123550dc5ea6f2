"""Signing on glass: the technician's drawing into a new report, the customer's into that report.

Who signs has before them what they sign: the customer's form names the report by its SHA-256, the
technician's the record of the job. Where that is not the newest any more, nothing is signed.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.jobs.folder import JobFolder
from recorder.errors import (
    BadValue,
    CannotApprove,
    InputRefused,
    JobChanged,
    NotADrawing,
    WrongUse,
)
from recorder.flows import approve
from recorder.flows import report as flow
from recorder.flows.progress import Silent
from recorder.model.base import Value
from recorder.model.evidence import digest
from recorder.report.signing.drawing import LARGEST_BYTES
from recorder.web.house import House
from recorder.web.jobs.reporting import OnScreen, key_of, on_screen
from recorder.web.jobs.work import at_work, folder_of, form_of, go, house_of, text_in
from recorder.web.pages.errors import takes_json, words_of
from recorder.web.pages.rendering import page

TECHNICIAN, CUSTOMER = "technician", "customer"


class Sign(Value):
    """Everything that the template may use. who: 'technician' or 'customer'. name: of the
    technician, or as the customer's was typed. record: SHA-256 of job.json as it is shown.
    complaint: why nothing was signed.
    """

    who: str
    shown: OnScreen
    record: str
    name: str = ""
    complaint: str = ""


def show(request: Request) -> Response:
    """GET /jobs/{id}/sign/technician and /customer"""
    return _shown(request, folder_of(request), _who(request))


async def sign(request: Request) -> Response:
    """POST /jobs/{id}/sign/…: drawing; of a technician record; of a customer name and report"""
    form = await form_of(request, files=1)
    drawing = await _drawing_in(form)
    name = text_in(form, "name")
    seen = text_in(form, "report" if _who(request) == CUSTOMER else "record")
    return await run_in_threadpool(_sign, request, drawing, name, seen)


def _sign(request: Request, drawing: bytes, name: str, seen: str) -> Response:
    house, folder, who = house_of(request), folder_of(request), _who(request)
    try:
        with at_work(house):
            if who == CUSTOMER:
                _of_customer(house, folder, drawing, name, seen)
            else:
                _of_technician(house, folder, drawing, seen)
    except (WrongUse, InputRefused) as error:
        if takes_json(request):
            raise
        return _shown(request, folder, who, "; ".join(words_of(request, error)), name)
    return go(request, f"/jobs/{folder.id}/report")


def _of_technician(house: House, folder: JobFolder, drawing: bytes, seen: str) -> None:
    if not drawing:
        raise NotADrawing(path="the drawing", detail="nothing was drawn")
    key = key_of(house)
    if digest(folder.read()[0]) != seen:
        raise JobChanged(path=f"job {folder.id}")
    flow.write(house.home, folder, house.settings, key, Silent(), drawing=drawing)


def _of_customer(house: House, folder: JobFolder, drawing: bytes, name: str, seen: str) -> None:
    key = key_of(house)
    if not name:
        hint = "type the name of the person who signs"
        raise BadValue(value=name, field="the name of who signs", hint=hint)
    if not drawing:
        raise NotADrawing(path="the drawing", detail="nothing was drawn")
    found = approve.find(house.home, folder.id)
    if found.outdated or found.found.sha256 != seen:
        raise CannotApprove(
            path=found.path,
            detail="the job was changed since, or there is a newer report",
            mend="write the report anew, read it, and sign that one",
        )
    with tempfile.TemporaryDirectory(prefix="seamnote-") as place:
        path = Path(place) / "drawing"
        path.write_bytes(drawing)
        approve.write(house.home, found, path, name, house.settings, key, Silent())


def _shown(
    request: Request, folder: JobFolder, who: str, complaint: str = "", name: str = ""
) -> Response:
    house = house_of(request)
    if who == TECHNICIAN and house.key:
        name = house.key.common_name
    record = digest(folder.read()[0])  # first: what comes between is refused
    view = Sign(
        who=who, shown=on_screen(house, folder), record=record, name=name, complaint=complaint
    )
    return page(request, "sign.html", status=422 if complaint else 200, sign=view)


def _who(request: Request) -> str:
    return str(request.url.path.rpartition("/")[2])


async def _drawing_in(form: FormData) -> bytes:
    """The picture that was sent; nothing where none was."""
    sent = form.get("drawing")
    return await sent.read(LARGEST_BYTES + 1) if isinstance(sent, UploadFile) else b""
