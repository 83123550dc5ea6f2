"""What each of these pages needs: the house, who is at work, and what a form sends."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from recorder.archive.jobs.acting import acting
from recorder.archive.jobs.folder import JobFolder
from recorder.notes.languages import vocabulary_of
from recorder.notes.words.speaking import speaking
from recorder.web.house import House
from recorder.web.pages.errors import takes_json
from recorder.web.pages.known import known_job

LONGEST_FIELD_BYTES = 16_384
_MOST_FIELDS = 30


def house_of(request: Request) -> House:
    house: House = request.app.state.house
    return house


def folder_of(request: Request) -> JobFolder:
    """Of the job that the address names. Raises UnknownJob."""
    return known_job(house_of(request).home, request.path_params["id"])


@contextlib.contextmanager
def at_work(house: House) -> Iterator[None]:
    """Inside, the technician is at work, and the words of the house are in force."""
    words = vocabulary_of(house.settings.speech.language, house.home.vocabulary)
    with acting(house.settings.report.technician), speaking(words):
        yield


async def form_of(request: Request, files: int = 0, fields: int = _MOST_FIELDS) -> FormData:
    """Raises HTTPException for what is no form, or one with more than ours have."""
    return await request.form(max_files=files, max_fields=fields, max_part_size=LONGEST_FIELD_BYTES)


def text_in(form: FormData, name: str) -> str:
    """A field of a form as text; empty where it is missing or a file."""
    value = form.get(name, "")
    return value.strip() if isinstance(value, str) else ""


def number_in(form: FormData, name: str, least: int = 0) -> int:
    """A whole number; -1 where there is none."""
    text = text_in(form, name)
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else -1
    return number if number >= least else -1


def go(request: Request, address: str) -> Response:
    """On to another page, also for a script that sent the form."""
    if takes_json(request):
        return JSONResponse({"goto": address})
    return RedirectResponse(address, status_code=303)
