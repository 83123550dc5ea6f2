"""A job: what was recorded, heard, measured and confirmed. The content of job.json."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from pydantic import AwareDatetime
from pydantic import Field as Constraint

from recorder.model.base import Number, Value
from recorder.model.fields import FIELDS, Level
from recorder.model.length import BeltLength
from recorder.model.measurement import Decision, SeamMeasurement
from recorder.model.reading import Note, Reading, Role, Standing, Typed
from recorder.model.recording import Recording
from recorder.model.software import Software
from recorder.model.stages import StageMark
from recorder.model.transcript import Transcript

SCHEMA_VERSION = 5
FILE_NAME = "job.json"


class MediaKind(StrEnum):
    AUDIO = "audio"
    PHOTO = "photo"
    CARD = "card"


class Removal(Value):
    """An original file was taken out on request. at: when, with zone. by: who did it. reason: in
    their words.
    """

    at: AwareDatetime
    by: str
    reason: str


class MediaFile(Value):
    """One original file, kept untouched.

    name: as the user named it. path: in the job folder. sha256, size_bytes: of its bytes.
    refused: why it could not be used; empty when it was. removed: None while it is kept; a file
    that was removed is still known by its digest.
    """

    name: str
    path: str
    kind: MediaKind
    sha256: str
    size_bytes: int
    refused: str = ""
    removed: Removal | None = None


class PhotoNote(Value):
    """What the job card says about a photo. stage: 'before' or 'after' pressing, or empty."""

    file: str
    caption: str = ""
    stage: str = ""
    splice: Number = 1
    run: Number = 1


class Job(Value):
    """One job. ``readings`` is the whole history, oldest first; it only ever grows.

    id: name of the job folder. created_at: with zone. complete: false while a first processing
    has not finished. version: of the program that made it. stages: of the press runs, as said.
    software: what heard and measured. recordings: the sound of a live session, in stretches;
    empty for a job that came as files. belt_length: as it was worked out before the job.
    """

    schema_version: int = Constraint(SCHEMA_VERSION, ge=1)
    id: str
    created_at: datetime
    version: str
    complete: bool = False
    media: tuple[MediaFile, ...] = ()
    transcripts: tuple[Transcript, ...] = ()
    readings: tuple[Reading, ...] = ()
    notes: tuple[Note, ...] = ()
    stages: tuple[StageMark, ...] = ()
    photos: tuple[PhotoNote, ...] = ()
    measurements: tuple[SeamMeasurement, ...] = ()
    software: tuple[Software, ...] = ()
    recordings: tuple[Recording, ...] = ()
    belt_length: BeltLength | None = None

    def title(self) -> str:
        """Job number and customer when they are known, else the id."""
        number = in_force(self.readings).get("job_number")
        customer = in_force(self.readings).get("customer")
        parts = [str(reading.value) for reading in (number, customer) if reading]
        return ", ".join(parts) or self.id


def in_force(
    readings: tuple[Reading, ...],
    splice: int | None = None,
    run: int | None = None,
    role: Role = Role.USED,
) -> dict[str, Reading]:
    """The reading in force of each field, by field name, oldest telling first.

    Without ``splice`` and ``run``: job-level fields and those of the last run of the last splice.
    With them: job-level fields, those of that splice, and those of that run of it. What the job
    card says holds for every splice and run. The newest reading is in force, but a doubtful one
    does not displace what a person confirmed: it waits in ``to_confirm``. Of a value that was
    withdrawn nothing is in force.
    """
    chosen_splice = splice or last_splice(readings)
    chosen_run = run or last_run(readings, chosen_splice)
    found: dict[str, Reading] = {}
    for reading in readings:
        if reading.role is not role or not _holds_for(reading, chosen_splice, chosen_run):
            continue
        before = found.get(reading.field)
        if before and before.standing is Standing.CONFIRMED and _is_doubtful(reading):
            continue
        found.pop(reading.field, None)
        if reading.standing is not Standing.WITHDRAWN:
            found[reading.field] = reading
    return found


def _holds_for(reading: Reading, splice: int, run: int) -> bool:
    level = FIELDS[reading.field].level
    if level is Level.JOB or on_job_card(reading):
        return True
    return reading.splice == splice and (level is Level.SPLICE or reading.run == run)


def on_job_card(reading: Reading) -> bool:
    return isinstance(reading.evidence, Typed) and reading.evidence.file is not None


def _is_doubtful(reading: Reading) -> bool:
    return reading.standing is Standing.DOUBTFUL


def last_splice(readings: tuple[Reading, ...]) -> int:
    return max((reading.splice for reading in readings), default=1)


def last_run(readings: tuple[Reading, ...], splice: int) -> int:
    return max((reading.run for reading in readings if reading.splice == splice), default=1)


def to_confirm(job: Job) -> list[Reading]:
    """The doubtful readings that nothing newer has settled, in the order in which they came."""
    newest: dict[tuple[str, int, int, Role], Reading] = {}
    for reading in job.readings:
        key = (reading.field, reading.splice, reading.run, reading.role)
        newest.pop(key, None)
        newest[key] = reading
    return [reading for reading in newest.values() if _is_doubtful(reading)]


def missing(job: Job) -> list[str]:
    """Names of the asked fields that nobody has given a value, in the order of the catalogue."""
    held: dict[tuple[str, int, int], bool] = {}
    for reading in job.readings:
        if reading.role is Role.USED:
            key = (reading.field, reading.splice, reading.run)
            held[key] = reading.standing is not Standing.WITHDRAWN
    known = {field for (field, _, _), holds in held.items() if holds}
    return [name for name, field in FIELDS.items() if field.asked and name not in known]


def needs_person(job: Job) -> bool:
    """Whether anything waits for a person: a doubt, a refused file, a measurement not within."""
    return bool(
        to_confirm(job)
        or any(media.refused for media in job.media)
        or any(m.decision in (Decision.OUTSIDE, Decision.UNDECIDED) for m in job.measurements)
    )
