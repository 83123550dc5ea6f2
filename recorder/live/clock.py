"""What the session's clock says of a press run: when its stages began, and how long they took.

Stage marks stand in stretches of sound, each with its own seconds; where each stretch began by the
wall clock puts them on one line, over gaps and restarts. What the clock gives is proposed and never
written by itself: somebody may have said "heat is on" late.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from recorder.model.fields import FIELDS
from recorder.model.job import Job, in_force
from recorder.model.reading import Reading, Spoken, Standing, Typed
from recorder.model.recording import BY_CLOCK
from recorder.model.stages import Stage, Timed, timed

# A told time and the clock differ when they lie further apart than both: what is said begins a few
# seconds early or late. Common practice, no source.
_APART_S = 20.0
_APART_SHARE = 0.1
# A shorter session was not the whole visit.
_SHORTEST_VISIT_MIN = 5
# field: from the first of these marks to the mark at its end.
_TIMED: dict[str, tuple[tuple[Stage, ...], tuple[Stage, ...]]] = {
    "preheat_time": ((Stage.PREHEAT,), (Stage.HEATING,)),
    "dwell_time": ((Stage.DWELL,), (Stage.COOLING, Stage.OPEN)),
    "cycle_time": ((Stage.PREHEAT, Stage.HEATING), (Stage.OPEN,)),
}


@dataclass(frozen=True)
class Difference:
    """A told time, and what the clock says of it in seconds."""

    told: Reading
    clock_s: float


def last_mark(job: Job, splice: int, run: int) -> datetime | None:
    """When the newest stage of a press run began."""
    marks = timed(job.stages, job.recordings, splice, run)
    return marks[-1].at if marks else None


def proposals(job: Job, splice: int, run: int) -> tuple[Reading, ...]:
    """Doubtful readings of the times that the clock gives of a finished run and nobody told."""
    known = in_force(job.readings, splice, run)
    return tuple(reading for reading in _by_clock(job, splice, run) if reading.field not in known)


def differences(job: Job, splice: int, run: int) -> tuple[Difference, ...]:
    """Told times that lie far from what the clock says."""
    known = in_force(job.readings, splice, run)
    found = []
    for reading in _by_clock(job, splice, run):
        told = known.get(reading.field)
        if told is None:
            continue
        clock_s, told_s = float(reading.value), float(told.value)
        if abs(clock_s - told_s) > max(_APART_S, _APART_SHARE * told_s):
            found.append(Difference(told, clock_s))
    return tuple(found)


def on_site(job: Job, now: datetime) -> Reading | None:
    """The time since the arrival that was told, else since the session began, in whole minutes;
    None when a time on site, or when both ends of it, are known.
    """
    known = in_force(job.readings)
    arrived = known.get("arrived_at")
    if "time_on_site" in known or (arrived and "left_at" in known):
        return None
    began = datetime.fromisoformat(str(arrived.value)) if arrived else job.created_at
    minutes = round((now - began).total_seconds() / 60)
    if minutes < _SHORTEST_VISIT_MIN:
        return None
    since = "the arrival" if arrived else "the beginning of the session"
    return Reading(
        field="time_on_site",
        value=60.0 * minutes,
        unit="s",
        standing=Standing.DOUBTFUL,
        evidence=Typed(at=now),
        why=f"{BY_CLOCK}, since {since} at {began:%H:%M}",
    )


def _by_clock(job: Job, splice: int, run: int) -> list[Reading]:
    marks = timed(job.stages, job.recordings, splice, run)
    if not marks or marks[-1].mark.stage is not Stage.OPEN:
        return []  # the run goes on
    found = []
    for field, (from_, to) in _TIMED.items():
        first = next((each for each in marks if each.mark.stage in from_), None)
        last = next((each for each in marks if each.mark.stage in to), None)
        if not first or not last:
            continue
        seconds = (last.at - first.at).total_seconds()
        low, high = FIELDS[field].plausible or (0.0, math.inf)
        if low <= seconds <= high:  # else a mark was said, or heard, at another time
            found.append(_reading(field, first, last))
    return found


def _reading(field: str, first: Timed, last: Timed) -> Reading:
    return Reading(
        field=field,
        value=float(round((last.at - first.at).total_seconds())),
        unit="s",
        standing=Standing.DOUBTFUL,
        evidence=Spoken(
            file=last.mark.file,
            said=f"{first.mark.said} … {last.mark.said}",
            start_s=last.mark.at_s,
            end_s=last.mark.at_s,
        ),
        why=f"{BY_CLOCK}, from {first.at:%H:%M:%S} to {last.at:%H:%M:%S}",
        splice=last.mark.splice,
        run=last.mark.run,
    )
