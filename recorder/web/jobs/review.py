"""The page of one job: what waits for a person first, then everything that is known of it."""

from __future__ import annotations

from pydantic import AwareDatetime
from starlette.requests import Request
from starlette.responses import Response

from recorder.archive.jobs.folder import JobFolder
from recorder.model.base import Value
from recorder.model.job import Job, in_force
from recorder.model.reading import Standing
from recorder.model.splices import numbers
from recorder.settings import Settings
from recorder.web.jobs import photos, reported, told, values
from recorder.web.jobs.history import History, history
from recorder.web.jobs.work import at_work, folder_of, house_of
from recorder.web.pages.rendering import page

_CHARTED = ("press", "template")
_ABOUT = ("site", "conveyor", "technician")  # the title has number and customer


class Review(Value):
    """Everything that its template may use. running: a live session that is not finished.
    about: site, conveyor and so on, as far as they are told. unused: files that could not be used,
    and why. accepted: splices that a recipe can be kept from. charts: stream and name of those that
    this job stands in. complaint: why the last answer was not taken, and for which form: its place
    among the readings, its field, or 'recipe'.
    """

    id: str
    title: str
    began_at: AwareDatetime
    about: tuple[str, ...]
    outcome: str
    outcome_standing: str
    complete: bool
    running: bool
    doubts: tuple[values.Doubt, ...]
    lacking: tuple[values.Lacking, ...]
    groups: tuple[values.Group, ...]
    photos: tuple[photos.Photo, ...]
    unused: tuple[str, ...]
    sounds: tuple[told.Sound, ...]
    silences: tuple[told.Silence, ...]
    talks: tuple[told.Talk, ...]
    notes: tuple[str, ...]
    marks: tuple[told.Mark, ...]
    history: History
    report: reported.Report | None
    can_sign: bool
    accepted: tuple[int, ...] = ()
    charts: tuple[tuple[str, str], ...] = ()
    complaint: str = ""
    complaint_of: str = ""
    typed: str = ""


def show(request: Request) -> Response:
    """GET /jobs/{id}"""
    return shown(request, folder_of(request))


def shown(
    request: Request, folder: JobFolder, complaint: str = "", of: str = "", typed: str = ""
) -> Response:
    """The page, with why an answer was not taken where there is one."""
    house = house_of(request)
    with at_work(house):
        view = review(folder, folder.load(), house.settings, house.key is not None)
    view = view.model_copy(update={"complaint": complaint, "complaint_of": of, "typed": typed})
    return page(request, "review.html", status=422 if complaint else 200, review=view)


def review(folder: JobFolder, job: Job, settings: Settings, can_sign: bool) -> Review:
    known = in_force(job.readings)
    outcome = known.get("outcome")
    units = settings.report.units
    return Review(
        id=job.id,
        title=job.title(),
        began_at=job.created_at.astimezone(),
        about=tuple(known[name].shown() for name in _ABOUT if name in known),
        outcome=outcome.shown() if outcome else "",
        outcome_standing=outcome.standing.value if outcome else "",
        complete=job.complete,
        running=not job.complete and bool(job.recordings or not job.media),
        doubts=values.doubts(job, units),
        lacking=values.lacking(job),
        groups=values.groups(job, units),
        photos=photos.photos(job),
        unused=tuple(media.refused for media in job.media if media.refused),
        sounds=told.sounds(job),
        silences=told.silences(job),
        talks=told.talks(job),
        notes=tuple(note.text for note in job.notes),
        marks=told.marks(job),
        history=history(folder),
        report=reported.newest_report(folder),
        can_sign=can_sign,
        accepted=tuple(splice for splice in numbers(job) if _accepted(job, splice)),
        charts=tuple(
            (stream, str(known[stream].value))
            for stream in _CHARTED
            if stream in known and known[stream].standing is not Standing.DOUBTFUL
        ),
    )


def _accepted(job: Job, splice: int) -> bool:
    outcome = in_force(job.readings, splice).get("outcome")
    settled = outcome is not None and outcome.standing is not Standing.DOUBTFUL
    return settled and outcome is not None and outcome.value == "accepted"
