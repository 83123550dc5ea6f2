"""What drifts now: the notice to whoever works next with a press or a template.

Only the rule of ``cusum`` speaks up. It alone is rare enough while nothing changes: of a press with
five characteristics one false notice in about a hundred jobs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from recorder.knowhow.trends import cusum, rules
from recorder.knowhow.trends.chart import Characteristic, Chart, Drift
from recorder.knowhow.trends.observed import FINEST, SIZES, Observed, observed
from recorder.model.past import PastRun


def drifts(charts: Iterable[Chart]) -> tuple[Drift, ...]:
    """Of each chart whose newest point alarms."""
    return tuple(
        Drift(
            stream=chart.stream,
            name=chart.name,
            characteristic=chart.characteristic,
            signal=signal,
        )
        for chart in charts
        for signal in chart.signals
        if signal.rule == rules.DRIFT and signal.at == len(chart.points) - 1
    )


def drifting(characteristic: Characteristic, seen: Iterable[Observed]) -> list[rules.Broken]:
    """At which points a characteristic drifts; a size only where it grows."""
    size = characteristic in SIZES
    values = ((it.value, it.below) for it in seen)
    return cusum.drifting(cusum.steps(values, FINEST[characteristic], size), size)


def drifts_in(
    stream: str, name: str, runs: Sequence[PastRun], since: datetime | None = None
) -> tuple[Drift, ...]:
    """The same from the runs of a stream, without making its charts."""
    found = []
    for characteristic in Characteristic:
        seen = observed(characteristic, runs, since)
        found += [
            Drift(stream=stream, name=name, characteristic=characteristic, signal=signal)
            for signal in rules.signals(drifting(characteristic, seen))
            if signal.at == len(seen) - 1
        ]
    return tuple(found)
