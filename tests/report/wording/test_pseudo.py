"""A page in a language made of brackets: whatever stands outside of them is data, no wording."""

import calendar
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from recorder.model.fields import FIELDS, Kind
from recorder.model.job import Job, MediaKind, PhotoNote, Removal
from recorder.model.measurement import Limit, SeamMeasurement
from recorder.model.reading import Note, Reading, Spoken, Standing
from recorder.model.software import Software, Use
from recorder.model.stages import Stage, StageMark
from recorder.model.transcript import Transcript, Utterance, Word
from recorder.model.units import UNITS
from recorder.report.content.compose import compose
from recorder.report.content.edition import Edition
from recorder.report.content.pictures import PictureTray
from recorder.report.page import look as looks
from recorder.report.page.templates import fill
from recorder.report.wording.wording import writing
from tests.report import jobs, sample
from tests.report.wording import pseudo

CONFIRMED, DOUBTFUL = Standing.CONFIRMED, Standing.DOUBTFUL
PROGRAMS = (
    Software(use=Use.HEARING, name="faster-whisper", version="1.2.1"),
    Software(use=Use.REPORT, name="WeasyPrint", version="68.0"),
)
# What a page holds in every language: symbols of units and quantities, codes, file formats.
SYMBOLS = {symbol for unit in UNITS.values() for symbol in re.findall(r"[a-zA-Z]+", unit.symbol)}
CODES = {"kB", "UTC", "SHA", "AM", "PM"}
MONTHS = set(calendar.month_name) | set(calendar.month_abbr)
# Times and identifiers, the code of the first page, and its digest in groups.
DATA = re.compile(
    r"\d{4}-\d\d-\d\dT[\d:]+([+-]\d\d:\d\d)?|\d{8}-[\w-]+…?|seamnote:\S+|\b(0a0a0a0a ?)+\b"
)


def eventful(folder: Path) -> Job:
    """The demo's job, with everything in it that a page has words for."""
    job = sample.demo_job(folder)
    third, second = {"splice": 3}, {"splice": 2, "run": 2}
    more = (
        sample.card("guide_profile", "notched_v_guided"),
        sample.card("test_run", "not_ok"),
        sample.card("arrived_at", "08:15"),
        sample.card("left_at", "2025-11-25T14:10:00+01:00"),
        sample.card("elongation", 0.4, "percent"),
        sample.card("time_on_site", 21300.0, "s"),
        sample.card("supply_phases", 3.0),
        sample.card("recommendation", "grease the bearings"),
        sample.told("isolation_confirmed", False, None, "is not locked", 99.0, CONFIRMED),
        sample.told("pressure", 2.0, "bar", "two bar", 101.0, DOUBTFUL, **second),
        sample.told("preheat_time", 60.0, "s", "one minute", 102.0, **second),
        sample.told("dwell_time", 3700.0, "s", "an hour", 103.0, **second),
        sample.told("splice_type", "double_finger", None, "double fingers", 104.0, **third),
        sample.told("outcome", "rework", None, "once more", 105.0, DOUBTFUL,
                    candidates=("accepted", "rejected"), **third),
        sample.told("bubbles", True, None, "blisters", 106.0, DOUBTFUL, **third),
        Reading(field="edge_offset", value=0.9, unit="mm", standing=DOUBTFUL, splice=3,
                evidence=Spoken(file="note.txt", said="edges apart")),
    )  # fmt: skip
    tolerance = Limit(name="splice_width", tolerance=0.5, source="job card")
    least = Limit(name="finger_length", low=29.0)
    seam = sample.measurement("photo_4.jpg", 0.15, 70.1)
    seam = seam.model_copy(
        update={"limits": (*seam.limits[:2], tolerance, least), "plot": "derived/lost.png"}
    )
    refused = SeamMeasurement(file="photo_5.jpg", status="refused", reason="no card was found")
    refused_file = {"name": "hum.wav", "refused": "it holds no speech"}
    shot = next(media for media in job.media if media.kind is MediaKind.PHOTO)
    gone = Removal(at=job.created_at, by="", reason="")
    media = (
        job.media[0].model_copy(update=refused_file),
        job.media[0].model_copy(update={"name": "told.wav", "removed": gone}),
        job.media[0].model_copy(update={"name": "told_too.wav", "removed": gone}),
        *(shot.model_copy(update={"name": f"photo_{n}.jpg"}) for n in range(4, 8)),
    )
    said = Utterance(words=(Word(text="morning"),), start_s=1.0, end_s=2.0)
    return job.model_copy(
        update={
            "media": (*job.media, *media),
            "readings": (*job.readings, *more),
            "notes": (*job.notes, Note(text="drive hums", file="narration.flac")),
            "photos": (
                *job.photos,
                PhotoNote(file="photo_4.jpg", stage="after", splice=2, run=2),
                PhotoNote(file="photo_5.jpg", stage="", splice=3),
                PhotoNote(file="photo_7.jpg", stage="after", splice=3, caption="the other side"),
            ),
            "measurements": (
                *job.measurements, seam, refused,
                sample.measurement("photo_6.jpg", 0.5, 70.6),
            ),
            "stages": tuple(
                StageMark(stage=stage, file="narration.flac", at_s=at, said=f"{stage} now",
                          splice=2)
                for stage, at in zip(Stage, (100.0, 160.0, 400.0, 580.0, 790.0), strict=True)
            ),
            "transcripts": (
                Transcript(file="narration.flac", duration_s=120.0, model="small tube",
                           utterances=(said,)),
                Transcript(file="told_too.wav", utterances=()),
            ),
        }
    )  # fmt: skip


def bare(folder: Path) -> Job:
    """A job of which hardly anything is known."""
    job = sample.demo_job(folder)
    nothing = {"readings": (), "notes": (), "photos": (), "measurements": (), "media": ()}
    return job.model_copy(update=nothing)


def unreported(folder: Path) -> Job:
    """One press run whose photo is gone, and no technician."""
    job = sample.demo_job(folder)
    (folder / "derived/overlay/photo_3.jpg").unlink()
    kept = [r for r in job.readings if r.splice == 1 and r.field not in ("outcome", "technician")]
    told = sample.told("cycle_time", 660.0, "s", "eleven minutes", 88.0, DOUBTFUL)
    used = sample.told("dwell_time", 180.0, "s", "three minutes", 70.0)
    photo = PhotoNote(file="photo_3.jpg", stage="after")
    return job.model_copy(update={
        "readings": (*kept, told, used), "photos": (photo,), "measurements": job.measurements[2:],
    })  # fmt: skip


def data_of(job: Job) -> Iterator[str]:
    """Whatever somebody typed, said or named, and what the record tells in English."""
    yield from (job.id, job.version, sample.SIGNER)
    yield from (sample.SETTINGS.firm, sample.SETTINGS.address, sample.SETTINGS.technician)
    for reading in job.readings:
        values = (reading.value, *reading.candidates)
        if FIELDS[reading.field].kind is Kind.TEXT:
            yield from map(str, values)
        yield reading.why
        yield reading.evidence.file or ""
        if isinstance(reading.evidence, Spoken):
            yield reading.evidence.said
    for media in job.media:
        yield from (media.name, media.sha256, media.refused)
    for note in job.photos:
        yield from (note.file, note.caption)
    for seam in job.measurements:
        yield from (seam.file, seam.reason, seam.lens, *seam.warnings)
        yield from (flag.text for flag in seam.flags)
        yield from (limit.source for limit in seam.limits)
        yield from (term.name for terms in seam.budget.values() for term in terms)
    yield from (note.text for note in job.notes)
    for transcript in job.transcripts:
        yield from (transcript.file, transcript.model or "")
        yield from (each.text for each in transcript.utterances)
    for stretch in job.recordings:
        yield from (stretch.file, stretch.device)
    for program in PROGRAMS:
        yield from (program.name, program.version)


@pytest.mark.parametrize(("make", "draft"), [
    (eventful, True), (eventful, False), (bare, True), (unreported, False), (jobs.live, False),
])  # fmt: skip
def test_all_wording_of_the_page_stands_in_the_catalogue(
    make: Callable[[Path], Job], draft: bool, tmp_path: Path
) -> None:
    job = make(tmp_path)
    pseudo.write(tmp_path / "templates")
    look = looks.read(None)
    edition = Edition(
        now=sample.NOW, draft=draft, signer="" if draft else sample.SIGNER, digest="0a" * 32,
        software=PROGRAMS, drawn=True,
    )  # fmt: skip
    units = {"temperature": "degF", "pressure": "psi", "length": "inch"}
    settings = sample.SETTINGS.model_copy(update={"units": units})
    with writing("en", (tmp_path / "templates", *look.folders)):
        report = compose(job, PictureTray(tmp_path), settings, edition)
        pages = [fill(report, look, name) for name in ("report.html", "seam.svg", "draft.svg")]
    text = "\n".join(map(pseudo.outside, pages))
    text = DATA.sub(" ", text)
    for known in sorted(filter(None, set(data_of(job))), key=len, reverse=True):
        text = text.replace(known, " ")
    text = " ".join(text.split())
    words = [
        text[max(0, found.start() - 40) : found.end() + 40]
        for found in re.finditer(r"[^\W\d_]{2,}", text)
        if found[0] not in SYMBOLS | CODES | MONTHS
    ]
    assert words == []


def test_what_is_no_message_stands_out() -> None:
    page = f'<p title="named">{pseudo.bracketed("Splice {n} is good")} hard</p>'
    page = page.replace("{n}", "coded") + '<style>@page { @top { content: "\\000041b" } }</style>'
    assert pseudo.outside(page).split() == ["named", "coded", "hard", "Ab"]
