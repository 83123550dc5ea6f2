"""Charts of individuals and moving ranges: the limits (ISO 7870-2; NIST/SEMATECH e-Handbook of
Statistical Methods, 6.3.2.2).

Limits come from the first ``BASELINE`` points alone. Limits from all points would grow with the
very drift that they should show. Before there are so many, they come from what there is, and are
provisional. Whoever mended the press lets a chart begin anew at that day.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean

from recorder.knowhow.trends.chart import Limits

# Mean range of two values of a normal distribution in its standard deviations, as published tables
# round 2/sqrt(pi); and what the mean range is multiplied with for its upper limit.
D2 = 1.128
D4 = 3.267

BASELINE = 30
ENOUGH = 10  # points before any is judged; limits of fewer are mostly luck. Common practice.


def moving_ranges(values: Sequence[float | None]) -> list[float | None]:
    """From each value to the next: one fewer than there are values. None beside one of None."""
    return [
        None if before is None or after is None else abs(after - before)
        for before, after in pairwise(values)
    ]


def limits(
    values: Sequence[float | None], finest: float = 0.0, least: float | None = None
) -> Limits | None:
    """Limits from the first ``BASELINE`` of the values that are numbers; None where no two of these
    stand in a row.

    Points and ranges of the baseline outside of its own limits are set aside once, and the limits
    made from the others: a slip of one day would otherwise widen them for all days to come.

    finest: the least standard deviation that is believed. least: no limit lies under this.
    """
    places = [place for place, value in enumerate(values) if value is not None][:BASELINE]
    end = places[-1] + 1 if len(places) == BASELINE else len(values)
    first = [value for value in values[:end] if value is not None]
    ranges = [each for each in moving_ranges(values[:end]) if each is not None]
    if not ranges:
        return None
    full = len(first) == BASELINE
    found = _limits(fmean(first), fmean(ranges), end, full, finest)
    if len(first) >= ENOUGH:
        inside = [value for value in first if found.lower <= value <= found.upper]
        calm = [each for each in ranges if each <= found.range_upper]
        if inside and calm:
            found = _limits(fmean(inside), fmean(calm), end, full, finest)
    if least is not None:
        found = found.model_copy(update={"lower": max(found.lower, least)})
    return found


def _limits(centre: float, range_centre: float, baseline: int, full: bool, finest: float) -> Limits:
    sigma = max(range_centre / D2, finest)
    return Limits(
        centre=centre,
        lower=centre - 3 * sigma,
        upper=centre + 3 * sigma,
        range_centre=range_centre,
        range_upper=D4 * max(range_centre, D2 * finest),
        sigma=sigma,
        baseline=baseline,
        provisional=not full,
    )
