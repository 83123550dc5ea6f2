"""A job as the values of its report."""

from __future__ import annotations

from recorder.model.characteristics import limit_label
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, PhotoNote, in_force, on_job_card, to_confirm
from recorder.model.measurement import LIMITED_AS, Decision, SeamMeasurement
from recorder.model.reading import Reading, Role, Standing, show_value
from recorder.model.splices import numbers, photos, photos_of, runs, unplaced, verdict
from recorder.report.content import annex, splices
from recorder.report.content.context import (
    Correction,
    Entry,
    Mark,
    MissingValues,
    OpenPoint,
    Original,
    PhotoPoint,
    Report,
    Signature,
    SpokenNote,
)
from recorder.report.content.edition import Edition
from recorder.report.content.entries import STANDING, clock, entries, heard, place
from recorder.report.content.measured import DECISION, shown_or_not
from recorder.report.content.pictures import PictureTray
from recorder.report.identity.certificates import DEMO_MARK
from recorder.settings import ReportSettings

_WHERE = ("customer", "site", "conveyor", "technician")
_BELT = ("belt_material", "belt_width", "belt_thickness", "guide_profile")
_BELT_AND_PRESS = (*_BELT, "belt_serial", "press")
_ADVICE = ("recommendation", "next_check")
_ELSEWHERE = {*_WHERE, *_BELT_AND_PRESS, *_ADVICE, "job_number", "isolation_confirmed"}
_WORK = tuple(n for n, f in FIELDS.items() if f.level is Level.JOB and n not in _ELSEWHERE)


def compose(job: Job, tray: PictureTray, settings: ReportSettings, edition: Edition) -> Report:
    now, draft, signer = edition.now, edition.draft, edition.signer
    known = in_force(job.readings)
    customer = settings.units
    count = numbers(job)
    last = count[-1]
    mark, standing = splices.outcome(job, last)
    open_points, corrections, missing = _open_points(job), _corrections(job), _missing(job)
    where = entries(_WHERE, known, customer, always=_WHERE)
    written = now.isoformat(timespec="minutes")
    return Report(
        language="en",
        firm=settings.firm or settings.technician or signer or "Splice service",
        address=settings.address,
        number=str(known["job_number"].value) if "job_number" in known else "",
        job_id=job.id,
        recorded_at=job.created_at.isoformat(timespec="minutes"),
        written_at=written,
        created=now.isoformat(timespec="seconds"),
        version=job.version,
        draft=draft,
        demo=signer.split(" ")[0] == DEMO_MARK,
        outcome=mark,
        outcome_of=f"Splice {last}" if len(count) > 1 else "Splice",
        outcome_standing=standing if standing == STANDING[Standing.DOUBTFUL] else None,
        verdict=_verdict(job, last),
        earlier=tuple(f"Splice {n} {splices.outcome(job, n)[0].word}" for n in count[:-1]),
        summary=_summary(len(open_points), len(corrections), sum(m.count for m in missing)),
        isolation=_isolation(known.get("isolation_confirmed")),
        where=_with_technician(where, settings.technician),
        belt=entries(_BELT_AND_PRESS, known, customer, always=_BELT),
        work=entries(_WORK, known, customer),
        advice=entries(_ADVICE, known, customer),
        splices=tuple(splices.splice(job, n, tray, customer) for n in count),
        unassigned=tuple(
            splices.picture(job, PhotoNote(file=name), _result(job, name), tray)
            for name in unplaced(job)
        ),
        open_points=open_points,
        photo_points=_photo_points(job),
        corrections=corrections,
        missing=missing,
        notes=tuple(SpokenNote(at=clock(note.start_s), text=note.text) for note in job.notes),
        originals=_originals(job),
        signature=Signature(
            signer="" if draft else signer,
            organization=settings.firm,
            at=now.isoformat(timespec="seconds"),
        ),
        legend=tuple(STANDING.values()),
        annex=annex.pages(job),
    )


def _with_technician(where: tuple[Entry, ...], name: str) -> tuple[Entry, ...]:
    """The settings know the technician when the record does not say."""
    label = FIELDS["technician"].label
    return tuple(
        Entry(label=label, value=name) if each.label == label and each.absent and name else each
        for each in where
    )


def _result(job: Job, name: str) -> SeamMeasurement | None:
    return next((found for found in job.measurements if found.file == name), None)


def _isolation(reading: Reading | None) -> Mark:
    if reading is None:
        words = "The record does not say that the conveyor was isolated and locked out."
    elif reading.value is False:
        words = "The record says that the conveyor was NOT isolated and locked out."
    elif reading.standing is Standing.DOUBTFUL:
        words = "Isolation and lockout may have been reported, but nobody confirmed it."
    else:
        words = "The technician reported the conveyor isolated and locked out."
        return STANDING[reading.standing].model_copy(update={"word": words})
    return STANDING[Standing.DOUBTFUL].model_copy(update={"word": words})


def _verdict(job: Job, splice: int) -> Mark:
    """What the photos that count say of a splice, in words: the worst of them."""
    found = verdict(photos_of(job, splice))
    if not found.measured:
        words = "No photo of it was measured."
        if found.earlier:
            words = "Its last photo could not be measured; an earlier one was."
        return Mark(kind="unmeasured", sign="–", word=words)
    only = len(found.measured) == 1
    which = "Its last photo measures" if only else f"Its {len(found.measured)} last photos measure"
    if found.decision is None:
        words = "Measured in a photo, without a limit to hold it against."
        return Mark(kind="unmeasured", sign="–", word=words)
    names = ", ".join(limit_label(name) for name in found.limits)
    one = "" if only else ", by the worst of them"
    said = {
        Decision.WITHIN: f"{which} within every limit in force.",
        Decision.OUTSIDE: f"{which} outside the limit{one}: {names}.",
        Decision.UNDECIDED: f"{which} too near to the limit to decide{one}: {names}.",
    }[found.decision]
    if found.refused:
        said += f" Not measured: {', '.join(found.refused)}."
    return DECISION[found.decision].model_copy(update={"word": said})


def _summary(unconfirmed: int, corrected: int, missing: int) -> tuple[Mark, ...]:
    def count(number: int, sign: str, what: str, none: str) -> Mark:
        if not number:
            return Mark(kind="none", sign="✓", word=none)
        values = "value" if number == 1 else "values"
        return Mark(kind="some", sign=sign, word=f"{number} {values} {what}")

    return (
        count(unconfirmed, "▲", "not confirmed", "no value in doubt"),
        count(corrected, "→", "corrected", "nothing corrected"),
        count(missing, "–", "missing", "nothing missing"),
    )


def _open_points(job: Job) -> tuple[OpenPoint, ...]:
    count = len(numbers(job))
    return tuple(
        OpenPoint(
            where=place(r, count, len(runs(job, r.splice))),
            value=r.shown(),
            why="; ".join(filter(None, (r.why, heard(r), _candidates(r)))),
        )
        for r in to_confirm(job)
    )


def _photo_points(job: Job) -> tuple[PhotoPoint, ...]:
    """What the photos measure not within a limit, unless their splice was not accepted anyway."""
    settled = {
        note.file
        for note, _ in photos(job)
        if splices.outcome(job, note.splice)[0].kind in ("rejected", "rework")
    }
    return tuple(
        PhotoPoint(
            mark=DECISION[decision],
            where=f"{limit_label(name).capitalize()} in {seam.file}",
            value=shown_or_not(getattr(seam, LIMITED_AS[name])),
            why=next(limit.shown() for limit in seam.limits if limit.name == name),
        )
        for seam in job.measurements
        for name, decision in seam.decisions.items()
        if decision is not Decision.WITHIN and seam.file not in settled
    )


def _candidates(reading: Reading) -> str:
    others = [show_value(reading.field, value) for value in reading.candidates]
    return f"may also be {' or '.join(others)}" if others else ""


def _corrections(job: Job) -> tuple[Correction, ...]:
    """Each change of a value that was in force, in every splice and run where it was."""
    count = len(numbers(job))
    found = []
    for index, reading in enumerate(job.readings):
        if reading.role is not Role.USED:
            continue
        for splice, run in _scopes(job, reading):
            before = in_force(job.readings[:index], splice, run).get(reading.field)
            after = in_force(job.readings[: index + 1], splice, run)[reading.field]
            if before is None or before.value == after.value:
                continue
            there = reading.model_copy(update={"splice": splice, "run": run})
            found.append(
                Correction(
                    where=place(there, count, len(runs(job, splice))),
                    before=before.shown(),
                    after=after.shown(),
                    said=heard(reading),
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


def _missing(job: Job) -> tuple[MissingValues, ...]:
    """Asked fields without a value: of the job, then of each splice and run."""
    known = in_force(job.readings)
    of_job = [
        field.label
        for name, field in FIELDS.items()
        if field.asked and field.level is Level.JOB and name not in known
    ]
    groups = {"Job": of_job}
    for number in numbers(job):
        several = len(runs(job, number)) > 1
        for run in runs(job, number):
            where = f"Splice {number}, run {run}" if several else f"Splice {number}"
            groups[where] = splices.missing_in(job, number, run)
    return tuple(
        MissingValues(where=where, labels=", ".join(labels), count=len(labels))
        for where, labels in groups.items()
        if labels
    )


def _originals(job: Job) -> tuple[Original, ...]:
    return tuple(
        Original(
            name=media.name,
            size=f"{media.size_bytes / 1000:.0f} kB",
            digest=media.sha256,
            refused=media.refused,
        )
        for media in job.media
    )
