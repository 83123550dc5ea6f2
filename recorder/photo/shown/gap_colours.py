"""What colour a gap has: by its share of the limit in force, or by its size alone.

Lighter towards the limit and dark beyond it; where no limit is in force nothing looks like too
much, and larger is lighter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from recorder.model import units
from recorder.model.measurement import Limit, SeamMeasurement
from recorder.photo.shown.pen import Colour

_RAMP: tuple[tuple[float, Colour], ...] = (
    (0.0, (0, 84, 150)),
    (0.45, (76, 170, 228)),
    (0.7, (190, 215, 235)),  # pale between blue and yellow: green would not show on green belts
    (0.9, (244, 232, 80)),
    (1.0, (240, 150, 30)),
    (1.05, (213, 74, 0)),
    (2.0, (140, 20, 30)),
)
_LIGHTEST = 0.9
_SHOWN_BEYOND = 1.6  # limits: what the legend shows


@dataclass(frozen=True)
class GapColours:
    """limit_mm: largest gap allowed, None where no limit is in force. top_mm: end of the scale."""

    limit_mm: float | None
    top_mm: float

    def of(self, gap_mm: float) -> Colour:
        if self.limit_mm is None:
            return _at(min(gap_mm / self.top_mm, 1.0) * _LIGHTEST)
        return _at(gap_mm / self.limit_mm)

    def too_wide(self, gap_mm: float) -> bool:
        return self.limit_mm is not None and gap_mm > self.limit_mm


def _at(share: float) -> Colour:
    stops = [stop for stop, _ in _RAMP]
    red, green, blue = (
        round(float(np.interp(share, stops, [colour[i] for _, colour in _RAMP]))) for i in range(3)
    )
    return red, green, blue


def colours_for(measured: SeamMeasurement) -> GapColours:
    """By the upper limit on the finger gap where there is one."""
    limit = gap_limit(measured)
    high = None if limit is None else limit.high
    if limit is not None and high is not None and high > 0:
        limit_mm = units.convert(high, limit.unit, "mm")
        return GapColours(limit_mm, _SHOWN_BEYOND * limit_mm)
    largest = max((reading.gap.value for reading in measured.gap_profile), default=0.5)
    return GapColours(None, _round_above(largest))


def gap_limit(measured: SeamMeasurement) -> Limit | None:
    """The limit on the finger gap, if one is in force."""
    return next((limit for limit in measured.limits if limit.name == "finger_gap"), None)


def _round_above(value: float) -> float:
    """The next of 1, 2, 3, 4, 5, 6, 8 and 10 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(max(value, 1e-3)))
    steps = (1, 2, 3, 4, 5, 6, 8, 10)
    return float(next(step * power for step in steps if step * power >= value * (1 - 1e-9)))
