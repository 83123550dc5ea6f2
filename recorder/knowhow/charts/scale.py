"""From values to places on a picture, and the round values that are named beside it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class Scale:
    """A straight axis. low, high: values at its ends. start, end: places of these."""

    low: float
    high: float
    start: float
    end: float

    def place(self, value: float) -> float:
        """Held within the ends."""
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.start + (self.end - self.start) * share

    def ticks(self, most: int = 5) -> list[float]:
        """At most so many round values in it."""
        step = _step((self.high - self.low) / most)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [round(number * step, 12) for number in range(first, last + 1)]


def _step(least: float) -> float:
    """The next of 1, 2, 5, 10, 20 … that is at least so much."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(times * power for times in (1, 2, 5, 10) if times * power >= least * (1 - 1e-9))


_ROOM = 0.06  # beyond the values, as a share of their span


def covering(values: list[float], start: float, end: float, floor: float | None = None) -> Scale:
    """A scale that holds all values with a little room. floor: it does not go below this."""
    low, high = min(values), max(values)
    room = (high - low) * _ROOM or abs(high) * 0.1 or 1.0
    low, high = low - room, high + room
    if floor is not None and low < floor <= min(values):
        low = floor
    return Scale(low, high, start, end)


def decimals(ticks: list[float]) -> int:
    """Digits after the point that tell the ticks apart."""
    step = ticks[1] - ticks[0] if len(ticks) > 1 else ticks[0] if ticks else 1.0
    return max(0, -math.floor(math.log10(abs(step)) + 1e-9)) if step else 0


def apart(places: list[float], least: float) -> list[float]:
    """The same places, moved so far that labels on them do not touch; in their order."""
    order = sorted(range(len(places)), key=places.__getitem__)
    moved = list(places)
    for _ in range(20):
        for before, after in pairwise(order):
            lack = least - (moved[after] - moved[before])
            if lack > 1e-9:
                moved[before] -= lack / 2
                moved[after] += lack / 2
    return moved
