"""Splices of each month by outcome."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import tzinfo

from recorder.knowhow.trends.chart import Month
from recorder.model.past import PastRun

_OUTCOMES = ("accepted", "rework", "rejected")


def months(runs: Iterable[PastRun], zone: tzinfo | None) -> tuple[Month, ...]:
    """From the first month to the last; one without a splice in between stands there empty.

    A splice counts once, by its last run and in that run's month. zone: in which months begin, None
    for that of this machine.
    """
    last: dict[tuple[str, int], PastRun] = {}
    for run in runs:
        key = (run.job, run.splice)
        if key not in last or last[key].run < run.run:
            last[key] = run
    counted: Counter[tuple[int, str]] = Counter()
    for run in last.values():
        begun = run.at.astimezone(zone)
        outcome = run.outcome if run.outcome in _OUTCOMES else "open"
        counted[begun.year * 12 + begun.month - 1, outcome] += 1
    if not counted:
        return ()
    numbers = [month for month, _ in counted]
    return tuple(
        Month(
            month=f"{month // 12:04d}-{month % 12 + 1:02d}",
            **{outcome: counted[month, outcome] for outcome in (*_OUTCOMES, "open")},
        )
        for month in range(min(numbers), max(numbers) + 1)
    )
