"""What a complete record needs for this kind of job, and at which moment it is asked for.

Common practice, no source: which values a record of a splice should hold, and when a technician
has them at hand. The catalogue says which a record is incomplete without (``asked``); the others
here belong to kinds of jobs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from recorder.live.talk import Key, Moment, Talk
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force
from recorder.model.reading import Reading
from recorder.model.splices import numbers, photos_of, runs
from recorder.model.stages import Stage

Known = Mapping[str, Reading]
_ORDER = list(Moment)
_FIRST = "isolation_confirmed"
# Told once the press is open. The gap is what a photo or a gauge gives.
_FINDINGS = ("bubbles", "outcome", "finger_gap", "edge_offset", "test_run")


@dataclass(frozen=True)
class Need:
    """field: that is needed. at: from which moment on. when: for which jobs, by what is known of
    this splice and run.
    """

    field: str
    at: Moment
    when: Callable[[Known], bool] = lambda known: True


def _is(field: str, *values: str) -> Callable[[Known], bool]:
    return lambda known: field in known and known[field].value in values


def _told(*fields: str) -> Callable[[Known], bool]:
    return lambda known: any(field in known for field in fields)


_FINGERS = _is("splice_type", "finger", "double_finger")
_BEFORE, _PRESSING, _AFTER = Moment.BEFORE, Moment.PRESSING, Moment.AFTER

# In the order in which they are asked.
NEEDS = (
    Need("isolation_confirmed", _BEFORE),
    Need("job_number", _BEFORE),
    Need("customer", _BEFORE),
    Need("belt_width", _BEFORE),
    Need("belt_material", _BEFORE),
    Need("belt_thickness", _BEFORE),
    Need("splice_type", _BEFORE),
    Need("finger_length", _BEFORE, _FINGERS),
    Need("finger_pitch", _BEFORE, _FINGERS),
    Need("template", _BEFORE, _FINGERS),
    Need("guide_profile", _BEFORE),
    Need("tension_mark_before", _BEFORE, _told("tension_mark_after")),
    Need("pressure", _PRESSING),
    Need("top_temperature", _PRESSING),
    Need("bottom_temperature", _PRESSING),
    Need("dwell_time", _PRESSING),
    Need("preheat_time", _PRESSING, _told("preheat_temperature")),
    Need("preheat_temperature", _PRESSING, _told("preheat_time")),
    Need("cool_down_temperature", _AFTER),
    Need("bubbles", _AFTER),
    Need("outcome", _AFTER),
    Need("tension_mark_after", _AFTER, _told("tension_mark_before")),
)


def lacking(talk: Talk, job: Job, until: Moment) -> list[Key]:
    """What the record lacks of this splice and run, and of the job, that has its moment by
    ``until``, in the order in which it is asked: isolation before all, then what has its moment
    now, and what was missed before. What a person said to have no value is left out.
    """
    known = _known(talk, job)
    due = [
        need
        for need in NEEDS
        if _ORDER.index(need.at) <= _ORDER.index(until)
        and need.field not in known
        and need.when(known)
    ]
    if until is not Moment.FINISHING:
        due.sort(key=lambda need: (need.field != _FIRST, -_ORDER.index(need.at)))
    keys = [_key(need.field, talk) for need in due]
    return [key for key in keys if key not in talk.declined]


def lacking_anywhere(talk: Talk, job: Job) -> list[Key]:
    """Likewise of every splice and run of the job, at its end."""
    places = [(splice, run) for splice in numbers(job) for run in runs(job, splice)]
    if (talk.splice, talk.run) not in places:
        places.append((talk.splice, talk.run))
    found: dict[Key, None] = {}
    for splice, run in places:
        there = talk.model_copy(update={"splice": splice, "run": run})
        found |= dict.fromkeys(lacking(there, job, Moment.FINISHING))
    return list(found)


def lacks_photo(talk: Talk, job: Job) -> bool:
    """Whether no photo of this splice, as this press run left it, was measured."""
    return not any(
        found and found.status == "measured" and note.run >= talk.run
        for note, found in photos_of(job, talk.splice)
    )


def moment_of(talk: Talk, job: Job) -> Moment:
    """Where this splice and run are, by their stage marks, timers and findings."""
    if talk.finishing:
        return Moment.FINISHING
    here = (talk.splice, talk.run)
    stages = {mark.stage for mark in job.stages if (mark.splice, mark.run) == here}
    known = _known(talk, job)
    found = any(name in known for name in _FINDINGS)
    if found or Stage.OPEN in stages or not lacks_photo(talk, job):
        return Moment.AFTER
    settings = any(FIELDS[name].level is Level.RUN for name in known)
    return Moment.PRESSING if stages or talk.timers or settings else Moment.BEFORE


def _known(talk: Talk, job: Job) -> dict[str, Reading]:
    """What is in force here. What was found of a splice before it was pressed again says nothing
    of it now.
    """
    here = (talk.splice, talk.run)
    known = in_force(job.readings, *here)
    if talk.run == 1:
        return known
    of_run = [
        place for place, reading in enumerate(job.readings) if (reading.splice, reading.run) == here
    ]
    since = job.readings[of_run[0] :] if of_run else ()
    return {
        name: reading
        for name, reading in known.items()
        if name not in _FINDINGS or any(reading is each for each in since)
    }


def _key(field: str, talk: Talk) -> Key:
    level = FIELDS[field].level
    splice = 1 if level is Level.JOB else talk.splice
    return field, splice, talk.run if level is Level.RUN else 1
