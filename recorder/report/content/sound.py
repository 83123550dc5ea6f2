"""The sound of a live session: which stretches of it there are, and the gaps between them.

Times are by the clock of the machine that kept the sound, in the zone in which the job began.
"""

from __future__ import annotations

from datetime import datetime

from recorder.model.job import Job
from recorder.model.reading import Spoken
from recorder.model.recording import Gap, Recording, gaps
from recorder.report.content.formats import length
from recorder.report.content.sources import Silence, Sound, SoundStretch
from recorder.report.wording.wording import digits, say


def sound(job: Job) -> Sound | None:
    """None for a job that came as files."""
    if not job.recordings:
        return None
    ordered = sorted(job.recordings, key=lambda each: each.began_at)
    devices = dict.fromkeys(each.device for each in ordered if each.device)
    first, last = ordered[0].began_at, max(each.ended_at for each in ordered)
    told = {
        "first": _full(job, first),
        "last": _full(job, last),
        "length": length(sum(each.duration_s for each in ordered)),
        "devices": ", ".join(devices),
    }
    return Sound(
        told=say("Recorded live with {devices}: sound from {first} to {last}, {length}.", **told)
        if devices
        else say("Recorded live: sound from {first} to {last}, {length}.", **told),
        silences=tuple(_silence(job, gap) for gap in gaps(ordered)),
        stretches=tuple(_stretch(job, each) for each in ordered),
    )


def within(job: Job, begin_s: float, end_s: float) -> float:
    """Seconds without sound between two moments of the session, in seconds since it began."""
    began = min(each.began_at for each in job.recordings)
    return sum(
        max(
            0.0, min(end_s, _since(began, gap.ended_at)) - max(begin_s, _since(began, gap.began_at))
        )
        for gap in gaps(job.recordings)
    )


def moment(job: Job, seconds: float) -> str:
    """By the clock: so many seconds after the session began."""
    first = min(job.recordings, key=lambda each: each.began_at)
    return _short(job, first.moment(seconds))


def told_at(job: Job, file: str | None, at_s: float | None) -> str:
    """When something was said in a session, '10:02:07'; empty where that is not known."""
    stretch = next((each for each in job.recordings if each.file == file), None)
    return "" if stretch is None or at_s is None else _short(job, stretch.moment(at_s))


def said_at(job: Job, evidence: Spoken) -> str:
    """As ``told_at``, of a reading."""
    return told_at(job, evidence.file, evidence.start_s)


def _silence(job: Job, gap: Gap) -> Silence:
    return Silence(
        at=say(
            "{first} to {last}", first=_short(job, gap.began_at), last=_short(job, gap.ended_at)
        ),
        length=length(gap.seconds),
        why=say(gap.why),
    )


def _stretch(job: Job, each: Recording) -> SoundStretch:
    return SoundStretch(
        file=each.file,
        at=_full(job, each.began_at),
        length=length(each.duration_s),
        samples=say("{n} at {rate} kHz", n=each.samples, rate=digits(f"{each.rate_hz / 1000:g}")),
        device=each.device,
    )


def _since(began: datetime, at: datetime) -> float:
    return (at - began).total_seconds()


def _local(job: Job, at: datetime) -> datetime:
    zone = job.created_at.tzinfo
    return at.astimezone(zone) if zone else at


def _full(job: Job, at: datetime) -> str:
    return _local(job, at).isoformat(sep=" ", timespec="seconds")


def _short(job: Job, at: datetime) -> str:
    """The time of day; with the day where it is another than that on which the job began."""
    local = _local(job, at)
    same = local.date() == job.created_at.date()
    return f"{local:%H:%M:%S}" if same else f"{local:%Y-%m-%d %H:%M:%S}"
