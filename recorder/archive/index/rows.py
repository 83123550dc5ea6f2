"""What the index holds of one job; pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import NamedTuple

from recorder.model.fields import FIELDS, Field, Kind, Level
from recorder.model.job import Job, in_force
from recorder.model.measurement import MEASURED_AS, Measurement
from recorder.model.reading import Reading, Role

MAIN_FIELDS = (
    "job_number",
    "site",
    "conveyor",
    "belt_material",
    "belt_width",
    "belt_thickness",
    "splice_type",
    "pressure",
    "top_temperature",
    "bottom_temperature",
    "dwell_time",
    "cool_down_temperature",
)

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\ud800-\udfff]")
WORD_KINDS = (Kind.TEXT, Kind.CHOICE)


class Told(NamedTuple):
    """A reading in force, and a splice and a run for which it holds."""

    splice: int
    run: int
    reading: Reading


class ValueRow(NamedTuple):
    """One value in force, or one measured value.

    low, high: the number in canonical units; two different ones when only bounds are known; a
    flag is 0 or 1, a time is seconds since 1970; None for words. word: casefolded; None for
    numbers. standing: of the reading, or 'measured'.
    """

    field: str
    splice: int
    run: int
    role: str
    low: float | None
    high: float | None
    word: str | None
    standing: str


class Passage(NamedTuple):
    """One line of text. label: for people. file, start_s: where it was heard, if it was."""

    label: str
    text: str
    file: str | None = None
    start_s: float | None = None


def told(job: Job) -> list[Told]:
    """The readings in force of each role, each for every splice and run for which it holds."""
    places = sorted({(1, 1)} | {(r.splice, r.run) for r in job.readings})
    roles = {reading.role for reading in job.readings}
    return [
        Told(*place, reading)
        for role in Role
        if role in roles
        for place in places
        for reading in in_force(job.readings, *place, role).values()
    ]


def values(job: Job, told: list[Told]) -> list[ValueRow]:
    """The readings in force, then what the photos measured."""
    rows = {row[:4]: row for row in map(_value, told)}
    return [*rows.values(), *_measured(job)]


def passages(job: Job, told: list[Told]) -> list[Passage]:
    """Everything that words can find, one line each."""
    found = [Passage("Job", job.id)]
    found += dict.fromkeys(
        Passage(FIELDS[reading.field].label, str(reading.value))
        for _, _, reading in told
        if FIELDS[reading.field].kind in WORD_KINDS
    )
    found += [Passage("File", media.name) for media in job.media]
    found += [Passage("Photo", photo.caption) for photo in job.photos]
    found += [Passage("Note", n.text, n.file, n.start_s) for n in job.notes]
    found += [
        Passage("Said", utterance.text, transcript.file, utterance.start_s)
        for transcript in job.transcripts
        for utterance in transcript.utterances
    ]
    lines = (passage._replace(text=one_line(passage.text)) for passage in found)
    return [line for line in lines if line.text]


def main_values(known: Mapping[str, Reading]) -> dict[str, bool | float | str]:
    """Values of the main fields as JSON has them. known: the readings in force."""
    return {name: known[name].value for name in MAIN_FIELDS if name in known}


def one_line(text: str) -> str:
    """The text without line breaks and control characters, which the index uses itself."""
    return " ".join(_CONTROL.sub(" ", text).split())


def _value(told: Told) -> ValueRow:
    reading = told.reading
    level = FIELDS[reading.field].level
    splice = 1 if level is Level.JOB else told.splice
    run = told.run if level is Level.RUN else 1
    number = _number(reading)
    word = reading.value.casefold() if isinstance(reading.value, str) else None
    return ValueRow(
        reading.field, splice, run, reading.role, number, number, word, reading.standing
    )


def _number(reading: Reading) -> float | None:
    if not isinstance(reading.value, str):
        return float(reading.value)
    if FIELDS[reading.field].kind is Kind.TIME:
        try:
            return datetime.fromisoformat(reading.value).astimezone(UTC).timestamp()
        except (ValueError, OverflowError, OSError):
            return None
    return None


def _measured(job: Job) -> list[ValueRow]:
    splices = {photo.file: photo.splice for photo in job.photos}
    return [
        _measured_row(FIELDS[field], getattr(seam, name), splices.get(seam.file, 1))
        for seam in job.measurements
        for field, name in MEASURED_AS.items()
        if getattr(seam, name) is not None
    ]


def _measured_row(field: Field, measured: Measurement, splice: int) -> ValueRow:
    place = (1 if field.level is Level.JOB else splice, 1)
    low = 0.0 if measured.below else measured.value
    return ValueRow(field.name, *place, Role.USED, low, measured.value, None, "measured")
