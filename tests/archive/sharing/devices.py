"""Devices that record and merge one job, as values without files."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from recorder.archive.sharing.merge import Merged, State, merge
from recorder.model.event import NOTHING_BEFORE, Actor, Event, What
from recorder.model.job import Job, MediaFile, MediaKind
from recorder.model.reading import Reading, Spoken, Standing, Typed
from tests.archive.sample_jobs import reading

START = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
SOUND = MediaFile(
    name="narration.flac", path="media/aaaaaaaaaaaa_narration.flac", kind=MediaKind.AUDIO,
    sha256="a" * 64, size_bytes=1000,
)  # fmt: skip
PHOTO = MediaFile(
    name="after.jpg", path="media/bbbbbbbbbbbb_after.jpg", kind=MediaKind.PHOTO,
    sha256="b" * 64, size_bytes=2000,
)  # fmt: skip


def at(minute: float) -> datetime:
    return START + timedelta(minutes=minute)


def event(what: What, minute: float, data: dict[str, object]) -> Event:
    return Event.model_construct(
        seq=1, at=at(minute), who=Actor(), what=what, data=data, more=0,
        record=NOTHING_BEFORE, previous=NOTHING_BEFORE, hash=NOTHING_BEFORE,
    )  # fmt: skip


def told(state: State, minute: float, *readings: Reading) -> State:
    """The state once readings came in at a time."""
    events = [
        event(What.HEARD, minute, {"reading": each.model_dump(mode="json")}) for each in readings
    ]
    job = state.job.model_copy(update={"readings": (*state.job.readings, *readings)})
    return State(job, (*state.events, *events), state.merged)


def taken_in(here: State, there: State, minute: float = 600) -> tuple[State, Merged]:
    """What ``here`` is once it has merged ``there``, and the merge."""
    merged = merge(here, there)
    if not merged.news:
        return here, merged
    noted = event(What.MERGED, minute, merged.data())
    return State(
        merged.job, (*here.events, noted), (*here.merged, there.events, *there.merged)
    ), merged


def fresh(**changes: object) -> State:
    job = Job(
        id="20261125-200000-3f9a", created_at=START, version="0.1.0", complete=True,
        media=(SOUND, PHOTO),
    )  # fmt: skip
    return State(job.model_copy(update=changes))


def heard(field: str, value: bool | float | str, said: str = "") -> Reading:
    known = reading(field, value)
    return known.model_copy(update={"evidence": Spoken(file="narration.flac", said=said)})


def answered(field: str, value: bool | float | str, minute: float) -> Reading:
    """A person's answer to a question."""
    known = reading(field, value, standing=Standing.CONFIRMED)
    return known.model_copy(update={"evidence": Typed(at=at(minute))})
