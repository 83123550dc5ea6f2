"""The values of a job as its page shows them: what waits for a person, and all that is known."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping

from recorder.flows import clip
from recorder.flows.review import Key, key_of, newest
from recorder.model.base import Value
from recorder.model.fields import FIELDS, Kind, Level, choice_label
from recorder.model.job import Job, in_force, missing, on_job_card, to_confirm
from recorder.model.reading import Reading, Role, Standing, show_value
from recorder.model.splices import numbers, runs
from recorder.model.units import UNITS
from recorder.report.content import entries, formats

# What a person may type, by dimension; without a value, which would lead.
_UNITS = {
    "temperature": "°C or °F", "pressure": "bar, psi or kPa", "length": "mm, cm, m or inch",
    "time": "s, min or h", "voltage": "V", "current": "A", "ratio": "%",
}  # fmt: skip

Units = Mapping[str, str]
MOST_PAST = 20  # values before the one in force that are shown; the events tell of all


class Past(Value):
    """A value that was there before. standing: then. told: how it was given. why: see Reading."""

    value: str
    standing: str
    told: str
    why: str


class Entry(Value):
    """How a person can give a value. choices: what is sent and its label; empty for free text.
    hint: what to write.
    """

    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""


class Told(Value):
    """One value. place: of the reading in the job. of: 'Splice 2, run 1', '' for the whole job.
    also: as it was said, in the customer's unit. asked: what the job card wants. told: how it was
    given. play: whether there is sound behind it. past: what it was before, newest first. mend:
    how it can be corrected, None where a newer doubt must be settled first.
    """

    field: str
    label: str
    of: str
    value: str
    also: str
    asked: str
    standing: str
    told: str
    why: str
    place: int
    play: bool
    past: tuple[Past, ...] = ()
    mend: Entry | None = None


class Doubt(Value):
    """A value that waits for a person. yes: whether it can be confirmed as it is; a flag is
    answered by its value. candidates: labels of the others, in the order of the reading.
    """

    told: Told
    yes: bool
    candidates: tuple[str, ...]
    entry: Entry


class Lacking(Value):
    """A value that a complete record has and this one does not."""

    field: str
    label: str
    splice: int
    run: int
    of: str
    entry: Entry


class Group(Value):
    """title: 'The job', 'Splice 2', 'Splice 2, press run 1'. told: in the order of the catalogue.
    free: fields without a value, by name and label, of that splice and run.
    """

    title: str
    told: tuple[Told, ...]
    free: tuple[tuple[str, str], ...]
    splice: int
    run: int


def doubts(job: Job, units: Units) -> tuple[Doubt, ...]:
    """In the order in which they came."""
    known = newest(job)
    return tuple(_doubt(job, known, reading, units) for reading in to_confirm(job))


def lacking(job: Job) -> tuple[Lacking, ...]:
    """Of the last splice and its last run, where it belongs to one."""
    splice = numbers(job)[-1]
    run = runs(job, splice)[-1]
    return tuple(
        Lacking(
            field=name,
            label=FIELDS[name].label,
            splice=splice,
            run=run,
            of=_where(job, FIELDS[name].level, splice, run),
            entry=entry_of(name),
        )
        for name in missing(job)
    )


def groups(job: Job, units: Units) -> tuple[Group, ...]:
    """The job, then each splice, then each press run of it."""
    found = [_group(job, units, "The job", Level.JOB, numbers(job)[-1], 1)]
    for splice in numbers(job):
        found.append(_group(job, units, f"Splice {splice}", Level.SPLICE, splice, 1))
        for run in runs(job, splice):
            title = f"Splice {splice}, press run {run}"
            found.append(_group(job, units, title, Level.RUN, splice, run))
    return tuple(found)


def entry_of(field: str) -> Entry:
    """How a value of this field is given by hand."""
    row = FIELDS[field]
    if row.kind is Kind.FLAG:
        return Entry(choices=(("yes", "yes"), ("no", "no")))
    if row.kind is Kind.CHOICE:
        return Entry(choices=tuple((each, choice_label(each)) for each in row.choices))
    if row.kind is Kind.TIME:
        return Entry(hint="time of day, or day and time: 14:30, 2026-11-26 14:30")
    if row.kind is Kind.COUNT:
        return Entry(hint="a whole number")
    if row.unit:
        return Entry(hint=f"a number with its unit: {_UNITS[UNITS[row.unit].dimension]}")
    return Entry()


def _group(job: Job, units: Units, title: str, level: Level, splice: int, run: int) -> Group:
    held = in_force(job.readings, splice, run)
    asked = in_force(job.readings, splice, run, Role.ASKED)
    known = newest(job)
    of_level = [name for name in FIELDS if FIELDS[name].level is level]
    return Group(
        title=title,
        told=tuple(
            _told(job, known, held[name], units, asked.get(name))
            for name in of_level
            if name in held
        ),
        free=tuple((name, FIELDS[name].label) for name in of_level if name not in held),
        splice=splice,
        run=run,
    )


def _doubt(job: Job, known: Mapping[Key, int], reading: Reading, units: Units) -> Doubt:
    flag = FIELDS[reading.field].kind is Kind.FLAG
    others = () if flag else reading.candidates
    return Doubt(
        told=_told(job, known, reading, units, None),
        yes=not flag,
        candidates=tuple(_shown(reading.field, each) for each in others),
        entry=entry_of(reading.field),
    )


def _shown(field: str, value: bool | float | str) -> str:
    """A value, and a time of a minute or more also as people say it: '1800 s (30 min)'."""
    text = show_value(field, value)
    seconds = isinstance(value, float) and FIELDS[field].unit == "s"
    spelt = formats.spell_out(float(value)) if seconds else ""
    return f"{text} ({spelt})" if spelt else text


def _told(
    job: Job, known: Mapping[Key, int], reading: Reading, units: Units, asked: Reading | None
) -> Told:
    key = key_of(reading)
    place = _place(job, reading)
    settled = known[key] == place
    return Told(
        field=reading.field,
        label=FIELDS[reading.field].label,
        of=_where(job, FIELDS[reading.field].level, reading.splice, reading.run),
        value=show_value(reading.field, reading.value),
        also=entries.also(reading, units),
        asked=asked.shown() if asked else "",
        standing=reading.standing.value,
        told=how(reading),
        why=reading.why,
        place=place,
        play=clip.heard(job, reading),
        past=tuple(itertools.islice(_past(job, key, place), MOST_PAST)),
        mend=entry_of(reading.field) if settled else None,
    )


def _place(job: Job, reading: Reading) -> int:
    """Of the newest one that is equal, as it is the one in force."""
    places = (p for p in range(len(job.readings) - 1, -1, -1) if job.readings[p] == reading)
    return next(places)


def _past(job: Job, key: Key, place: int) -> Iterable[Past]:
    for before in reversed(job.readings[:place]):
        if key_of(before) == key:
            yield Past(
                value=before.shown(),
                standing=before.standing.value,
                told=how(before),
                why=before.why,
            )


def how(reading: Reading) -> str:
    """'said at 1:04: “top one seventy two”', 'typed', 'from the job card'."""
    if on_job_card(reading):
        return "from the job card"
    return "" if reading.standing is Standing.WITHDRAWN else entries.heard(reading)


def _where(job: Job, level: Level, splice: int, run: int) -> str:
    if level is Level.JOB:
        return ""
    several = len(numbers(job)) > 1
    parts = [f"splice {splice}"] if several else []
    if level is Level.RUN and len(runs(job, splice)) > 1:
        parts.append(f"press run {run}")
    return ", ".join(parts)
