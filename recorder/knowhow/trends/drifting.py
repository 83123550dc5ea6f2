"""What drifts now: the notice to whoever works next with a press or a template.

Only the rule of ``cusum`` speaks up. It alone is rare enough while nothing changes: of a press with
five characteristics one false notice in about a hundred jobs.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean

from recorder.knowhow.trends import cusum, rules
from recorder.knowhow.trends.chart import Characteristic, Drift
from recorder.knowhow.trends.observed import FINEST, SIZES, Observed, observed
from recorder.model.past import PastRun


def drifting(characteristic: Characteristic, seen: Sequence[Observed]) -> list[rules.Broken]:
    """At which points a characteristic drifts; a size only where it grows.

    The splices of one job are alike, in belt, hands and day, and three of them are no three
    witnesses: a job counts once, by the mean of what was measured, and drifts at its last point.
    """
    size = characteristic in SIZES
    starts = [
        place
        for place, it in enumerate(seen)
        if place == 0 or it.run.job != seen[place - 1].run.job
    ]
    ends = [*starts[1:], len(seen)]
    values = (_of_job(seen, start, end) for start, end in zip(starts, ends, strict=False))
    return [
        each._replace(at=ends[each.at] - 1, since=starts[each.since])
        for each in cusum.drifting(values, FINEST[characteristic], size, size)
    ]


def _of_job(seen: Sequence[Observed], start: int, end: int) -> tuple[float, bool]:
    """The mean of what was measured; where nothing was, the lowest bound."""
    if end - start == 1:
        return seen[start].value, seen[start].below
    measured = [it.value for it in seen[start:end] if not it.below]
    if measured:
        return fmean(measured), False
    return min(it.value for it in seen[start:end]), True


def drifts_in(stream: str, name: str, runs: Sequence[PastRun]) -> tuple[Drift, ...]:
    """What alarms at the newest job of a stream; the same that its charts show."""
    found = []
    for characteristic in Characteristic:
        seen = observed(characteristic, runs)
        found += [
            Drift(stream=stream, name=name, characteristic=characteristic, signal=signal)
            for signal in rules.signals(drifting(characteristic, seen))
            if signal.at == len(seen) - 1
        ]
    return tuple(found)
