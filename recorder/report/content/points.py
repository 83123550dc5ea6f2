"""What to read before signing: doubts, photos not within a limit, corrections, what is missing."""

from __future__ import annotations

from recorder.model.characteristics import CHARACTERISTICS
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, in_force, on_job_card, to_confirm
from recorder.model.measurement import LIMITED_AS, Decision
from recorder.model.reading import Reading, Role, Spoken
from recorder.model.splices import numbers, photos, photos_of, runs
from recorder.report.content import formats
from recorder.report.content.context import Correction, MissingValues, OpenPoint, PhotoPoint
from recorder.report.content.entries import heard, place
from recorder.report.content.measured import (
    ALWAYS,
    decision_mark,
    differs,
    disagree,
    shown_or_not,
)
from recorder.report.content.sound import said_at
from recorder.report.content.splices import missing_in, outcome
from recorder.report.content.story import heading, run_by_reading
from recorder.report.wording.wording import say


def open_points(job: Job) -> tuple[OpenPoint, ...]:
    count = len(numbers(job))
    return tuple(
        OpenPoint(
            where=place(r, count, len(runs(job, r.splice))),
            value=formats.reading(r),
            why="; ".join(filter(None, (r.why, _heard(job, r), _candidates(r)))),
        )
        for r in to_confirm(job)
    )


def _heard(job: Job, reading: Reading) -> str:
    evidence = reading.evidence
    return heard(reading, said_at(job, evidence) if isinstance(evidence, Spoken) else "")


def _candidates(reading: Reading) -> str:
    others = [formats.value(reading.field, value) for value in reading.candidates]
    return say("may also be {others}", others=" / ".join(others)) if others else ""


def photo_points(job: Job) -> tuple[PhotoPoint, ...]:
    """What the photos measure not within a limit, unless their splice was not accepted anyway."""
    settled = {
        note.file
        for note, _ in photos(job)
        if outcome(job, note.splice)[0].kind in ("rejected", "rework")
    }
    return tuple(
        PhotoPoint(
            mark=decision_mark(decision),
            where=say(
                "{what} in {file}",
                what=say(CHARACTERISTICS[LIMITED_AS[name]].label),
                file=seam.file,
            ),
            value=shown_or_not(getattr(seam, LIMITED_AS[name])),
            why=next(formats.limit(limit) for limit in seam.limits if limit.name == name),
        )
        for seam in job.measurements
        for name, decision in seam.decisions.items()
        if decision is not Decision.WITHIN and seam.file not in settled
    )


def disagreements(job: Job) -> tuple[PhotoPoint, ...]:
    """What was said of a splice and its last photo measures otherwise, beyond U."""
    found = []
    for number in numbers(job):
        known = in_force(job.readings, number)
        seams = [seam for _, seam in photos_of(job, number) if seam]
        for field, name in LIMITED_AS.items():
            last = next((s for s in reversed(seams) if getattr(s, name) is not None), None)
            reading = known.get(field)
            if name not in ALWAYS or last is None or reading is None:
                continue
            measured = getattr(last, name)
            if disagree(reading, measured):
                what = say(CHARACTERISTICS[name].label)
                shown = {"said": formats.reading(reading), "found": formats.measurement(measured)}
                found.append(
                    PhotoPoint(
                        mark=differs(),
                        where=say("{what} in {file}", what=what, file=last.file),
                        value=say("{said} told, {found} measured", **shown),
                        why=_heard(job, reading),
                    )
                )
    return tuple(found)


def corrections(job: Job) -> tuple[Correction, ...]:
    """Each change of a value that was in force, in every splice and run where it was.

    What was found after the next press run corrects nothing: see ``story``.
    """
    count = len(numbers(job))
    begun = run_by_reading(job)
    runs_of = {id(reading): run for reading, run in zip(job.readings, begun, strict=True)}
    found = []
    for index, reading in enumerate(job.readings):
        if reading.role is not Role.USED:
            continue
        for splice, run in _scopes(job, reading):
            before = in_force(job.readings[:index], splice, run).get(reading.field)
            after = in_force(job.readings[: index + 1], splice, run).get(reading.field)
            if before is None or after is None or before.value == after.value:
                continue
            of_splice = FIELDS[reading.field].level is Level.SPLICE and not on_job_card(before)
            if of_splice and runs_of[id(before)] != runs_of[id(after)]:
                continue
            there = reading.model_copy(update={"splice": splice, "run": run})
            found.append(
                Correction(
                    where=place(there, count, len(runs(job, splice))),
                    before=formats.reading(before),
                    after=formats.reading(after),
                    said=_heard(job, reading),
                )
            )
    return tuple(found)


def _scopes(job: Job, reading: Reading) -> list[tuple[int, int]]:
    """The splices and runs for which a reading holds; what the job card says, for all of them."""
    level = FIELDS[reading.field].level
    if level is Level.JOB or not on_job_card(reading):
        return [(reading.splice, reading.run)]
    return [
        (splice, run)
        for splice in numbers(job)
        for run in (runs(job, splice) if level is Level.RUN else [1])
    ]


def missing(job: Job) -> tuple[MissingValues, ...]:
    """Asked fields without a value: of the job, then of each splice and run."""
    known = in_force(job.readings)
    of_job = [
        say(field.label)
        for name, field in FIELDS.items()
        if field.asked and field.level is Level.JOB and name not in known
    ]
    groups = {say("Job"): of_job}
    for number in numbers(job):
        for run in runs(job, number):
            groups[heading(job, number, run)] = missing_in(job, number, run)
    return tuple(
        MissingValues(where=where, labels=", ".join(labels), count=len(labels))
        for where, labels in groups.items()
        if labels
    )
