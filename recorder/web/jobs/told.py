"""What was recorded and said in a job as its page shows it: sound, gaps, words, notes, stages."""

from __future__ import annotations

from pydantic import AwareDatetime

from recorder.model.base import Value
from recorder.model.job import Job
from recorder.model.recording import gaps


class Sound(Value):
    """One stretch. device: whose microphone."""

    file: str
    began_at: AwareDatetime
    seconds: float
    device: str


class Silence(Value):
    """A gap between two stretches. why: in words."""

    began_at: AwareDatetime
    seconds: float
    why: str


class Line(Value):
    """start_s: in its recording, None for a written text."""

    text: str
    start_s: float | None


class Talk(Value):
    """All that was heard in one file."""

    file: str
    lines: tuple[Line, ...]


class Mark(Value):
    """A stage that was called out."""

    stage: str
    of: str
    said: str
    file: str
    at_s: float


def sounds(job: Job) -> tuple[Sound, ...]:
    return tuple(
        Sound(
            file=each.file,
            began_at=each.began_at,
            seconds=each.duration_s,
            device=each.device,
        )
        for each in sorted(job.recordings, key=lambda each: each.began_at)
    )


def silences(job: Job) -> tuple[Silence, ...]:
    return tuple(
        Silence(began_at=gap.began_at, seconds=gap.seconds, why=gap.why)
        for gap in gaps(job.recordings)
    )


def talks(job: Job) -> tuple[Talk, ...]:
    return tuple(
        Talk(
            file=each.file,
            lines=tuple(Line(text=u.text, start_s=u.start_s) for u in each.utterances),
        )
        for each in job.transcripts
    )


def marks(job: Job) -> tuple[Mark, ...]:
    return tuple(
        Mark(
            stage=each.stage.value.replace("_", " "),
            of=f"splice {each.splice}, press run {each.run}",
            said=each.said,
            file=each.file,
            at_s=each.at_s,
        )
        for each in job.stages
    )
