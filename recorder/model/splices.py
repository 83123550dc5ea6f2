"""The splices of a job: how many, which photos show each, and what these say of it."""

from __future__ import annotations

from recorder.model.base import Value
from recorder.model.fields import FIELDS, Level
from recorder.model.job import Job, MediaKind, PhotoNote, on_job_card
from recorder.model.measurement import Decision, SeamMeasurement, worst
from recorder.model.reading import Reading, Role

Photo = tuple[PhotoNote, SeamMeasurement | None]


class Verdict(Value):
    """What the photos that count say of a splice: those of its last press run, and of these the
    ones before pressing only where there is no other.

    decision: the worst of theirs; None without a limit. limits: names of those with that decision.
    measured, refused: the photos, by name. earlier: there are measured ones that do not count.
    """

    decision: Decision | None = None
    limits: tuple[str, ...] = ()
    measured: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    earlier: bool = False


def verdict(photos: list[Photo]) -> Verdict:
    """The verdict on one splice by all of its photos; a later photo does not excuse another."""
    last_run = max((note.run for note, _ in photos), default=1)
    last = [(note, found) for note, found in photos if note.run == last_run]
    counting = [(note, found) for note, found in last if note.stage != "before"] or last
    measured = [found for _, found in counting if found and found.status == "measured"]
    decision = worst(found.decision for found in measured if found.decision)
    limits = {
        name: None
        for found in measured
        for name, decided in found.decisions.items()
        if decided is decision
    }
    names = tuple(found.file for found in measured)
    return Verdict(
        decision=decision,
        limits=tuple(limits),
        measured=names,
        refused=tuple(note.file for note, _ in counting if note.file not in names),
        earlier=any(
            found and found.status == "measured" and found.file not in names for _, found in photos
        ),
    )


def numbers(job: Job) -> list[int]:
    """Numbers of all splices that the record speaks of or shows; at least splice 1."""
    told = {r.splice for r in job.readings if _is_of_a_splice(r)}
    shown = {note.splice for note in job.photos}
    return sorted(told | shown) or [1]


def runs(job: Job, splice: int) -> list[int]:
    """Numbers of the press runs of a splice; at least run 1."""
    told = {
        r.run
        for r in job.readings
        if _is_of_a_splice(r) and r.splice == splice and FIELDS[r.field].level is Level.RUN
    }
    return sorted(told) or [1]


def _is_of_a_splice(reading: Reading) -> bool:
    """The job card's word holds for every splice, and so makes none."""
    level = FIELDS[reading.field].level
    return level is not Level.JOB and reading.role is Role.USED and not on_job_card(reading)


def photos_of(job: Job, splice: int) -> list[Photo]:
    """Photos of one splice in the order of the record."""
    return [(note, found) for note, found in photos(job) if note.splice == splice]


def photos(job: Job) -> list[Photo]:
    """Every photo that the record can place: by its note, or as there is one splice only."""
    noted = {note.file: note for note in job.photos}
    results = {found.file: found for found in job.measurements}
    only = numbers(job)
    placed = []
    for media in job.media:
        if media.kind is not MediaKind.PHOTO:
            continue
        note = noted.get(media.name)
        if note is None and len(only) == 1:
            note = PhotoNote(file=media.name, splice=only[0])
        if note is not None:
            placed.append((note, results.get(media.name)))
    return sorted(placed, key=lambda pair: (pair[0].run, pair[0].stage == "after"))


def unplaced(job: Job) -> list[str]:
    """Names of the photos that belong to no splice which the record knows."""
    placed = {note.file for note, _ in photos(job)}
    photo_names = (media.name for media in job.media if media.kind is MediaKind.PHOTO)
    return [name for name in photo_names if name not in placed]
