"""Splices of each month by outcome."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import tzinfo

from recorder.knowhow.trends.chart import Month
from recorder.model.past import OUTCOMES, PastRun, last_runs


def months(runs: Iterable[PastRun], zone: tzinfo | None) -> tuple[Month, ...]:
    """From the first month to the last; one without a splice in between stands there empty.

    A splice counts once, by its last run and in that run's month. zone: in which months begin, None
    for that of this machine.
    """
    counted: Counter[tuple[int, str]] = Counter()
    for run in last_runs(runs):
        begun = run.at.astimezone(zone)
        counted[begun.year * 12 + begun.month - 1, run.outcome or "open"] += 1
    if not counted:
        return ()
    numbers = [month for month, _ in counted]
    return tuple(
        Month(
            month=f"{month // 12:04d}-{month % 12 + 1:02d}",
            **{outcome: counted[month, outcome] for outcome in (*OUTCOMES, "open")},
        )
        for month in range(min(numbers), max(numbers) + 1)
    )
