"""Past runs to a control chart: observe, find the limits, look for broken rules."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple

from recorder.knowhow.trends import rules
from recorder.knowhow.trends.chart import Characteristic, Chart, Limits, Point, Signal
from recorder.knowhow.trends.drifting import drifting
from recorder.knowhow.trends.individuals import ENOUGH, limits, moving_ranges
from recorder.knowhow.trends.observed import FINEST, SIZES, UNIT, Observed, observed
from recorder.model.past import PastRun


def chart(
    characteristic: Characteristic,
    stream: str,
    name: str,
    runs: Iterable[PastRun],
) -> Chart:
    """The chart of one characteristic of a stream. runs: those of the stream, in any order; after
    maintenance those since then, for a new baseline.

    A gap under the quantification limit stands at its upper bound. It takes part in no limit and no
    rule, since the bound says how well the photo could see and not how narrow the gap is.
    """
    seen = observed(characteristic, runs)
    found = _limits(characteristic, seen)
    return Chart(
        characteristic=characteristic,
        stream=stream,
        name=name,
        unit=UNIT[characteristic],
        points=_points(seen),
        limits=found,
        signals=rules.signals(_broken(characteristic, seen, found)),
    )


def newest(chart: Chart) -> Signal | None:
    """The weightiest signal of the newest point."""
    last = len(chart.points) - 1
    return next((signal for signal in chart.signals if signal.at == last), None)


class Latest(NamedTuple):
    """Of a chart: number of its points, at: when the newest was made, signal: its weightiest."""

    points: int
    at: datetime
    signal: Signal | None


def latest(characteristic: Characteristic, runs: Iterable[PastRun]) -> Latest | None:
    """What the ``chart`` of these runs says of its newest point, in half the time; None without a
    point.
    """
    seen = observed(characteristic, runs)
    if not seen:
        return None
    broken = _broken(characteristic, seen, _limits(characteristic, seen))
    last = len(seen) - 1
    signal = next((each for each in rules.signals(broken) if each.at == last), None)
    return Latest(len(seen), seen[-1].run.at, signal)


def _limits(characteristic: Characteristic, seen: Sequence[Observed]) -> Limits | None:
    least = 0.0 if characteristic in SIZES else None
    return limits(_measured(seen), FINEST[characteristic], least)


def _measured(seen: Sequence[Observed]) -> list[float | None]:
    return [None if each.below else each.value for each in seen]


def _points(seen: Sequence[Observed]) -> tuple[Point, ...]:
    ranges = [None, *moving_ranges(_measured(seen))]
    return tuple(
        Point(
            at=each.run.at,
            job=each.run.job,
            splice=each.run.splice,
            value=each.value,
            U=each.U,
            moving_range=moved,
            below=each.below,
        )
        for each, moved in zip(seen, ranges, strict=False)
    )


def _broken(
    characteristic: Characteristic, seen: Sequence[Observed], found: Limits | None
) -> list[rules.Broken]:
    if found is None or len(seen) < ENOUGH or found.sigma == 0:
        return []
    finest = FINEST[characteristic]
    scores = [_score(it, found, finest) for it in seen]
    jumps = [
        rules.Broken(rules.JUMP, "", place + 1, place)
        for place, moved in enumerate(moving_ranges(_measured(seen)))
        if moved is not None and moved > found.range_upper
    ]
    return rules.broken_zones(scores) + jumps + drifting(characteristic, seen)


def _score(it: Observed, found: Limits, finest: float) -> float | None:
    """How many sigma from the centre. Rounded values pile up at it, and what cannot be told from
    the centre lies on neither side; an upper bound lies nowhere.
    """
    apart = it.value - found.centre
    if it.below:
        return None
    return apart / found.sigma if abs(apart) > finest / 2 else 0.0
