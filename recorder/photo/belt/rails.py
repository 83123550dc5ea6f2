"""Lines along the belt on which many places lie, each half of the belt by itself.

The two ends of a belt may be set off and turned against each other, so that an edge is two lines.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_STEEPEST = 0.22  # of the belt against the card
_SLOPES = np.linspace(-_STEEPEST, _STEEPEST, 89)
_BIN_MM = 0.4
_LARGEST_STEP_MM = 4.0  # between the two ends
_LARGEST_TURN = 0.06
_MOST = 5  # lines for a half


@dataclass(frozen=True)
class Rail:
    """y, slope: (n,) of the line in each band."""

    y: Array
    slope: Array


@dataclass(frozen=True)
class _Straight:
    level: float
    slope: float
    share: float


def rails(x: Array, places: Array, way: int, least: float) -> list[Rail]:
    """Lines through places (n, k), NaN where there is none, in bands at x (n,): outermost first.

    way: 1 where outwards is down. least: share of the bands in which a place must lie on it.
    """
    middle = (x[0] + x[-1]) / 2
    left = _straights(x - middle, places, x < middle, least)
    right = _straights(x - middle, places, x >= middle, least)
    made = []
    for one in left:
        for other in right:
            apart = abs(other.level - one.level), abs(other.slope - one.slope)
            if apart[0] > _LARGEST_STEP_MM or apart[1] > _LARGEST_TURN:
                continue
            slope = np.where(x < middle, one.slope, other.slope)
            line = np.where(x < middle, one.level, other.level) + slope * (x - middle)
            outward = way * (one.level + other.level)
            made.append((outward, Rail(_nearest(line, places), slope)))
    made.sort(key=lambda pair: -pair[0])
    return [rail for _, rail in made]


def _straights(x: Array, places: Array, mine: NDArray[np.bool_], least: float) -> list[_Straight]:
    """Lines through the places of some bands, each place used once, best supported first."""
    rows, which = np.nonzero(~np.isnan(places) & mine[:, None])
    if not len(rows):
        return []
    at_x, at_y = x[rows], places[rows, which]
    need = least * int(mine.sum())
    free = np.ones(len(rows), bool)
    found: list[_Straight] = []
    for _ in range(_MOST):
        best = (0.0, 0.0, 0.0)
        for slope in _SLOPES:
            level = at_y[free] - slope * at_x[free]
            if not len(level):
                break
            low = float(level.min())
            number = ((level - low) / _BIN_MM).astype(int)
            table = np.zeros((len(x), int(number.max()) + 3), bool)
            table[rows[free], number + 1] = True
            count = (table[:, :-1] | table[:, 1:]).sum(axis=0)
            # among equals the flattest, as a belt lies about along its card
            top = float(count.max()) - 0.5 * abs(slope)
            if top > best[0]:
                best = (top, slope, low + (float(np.argmax(count))) * _BIN_MM)
        if best[0] < need - 0.5 * _STEEPEST:
            break
        near = free & (np.abs(at_y - best[2] - best[1] * at_x) < 1.5 * _BIN_MM)
        level, slope = _line(at_x[near], at_y[near], best)
        found.append(_Straight(level, slope, best[0] / int(mine.sum())))
        free &= np.abs(at_y - level - slope * at_x) > 2.5 * _BIN_MM
    return found


def _line(x: Array, y: Array, best: tuple[float, float, float]) -> tuple[float, float]:
    if len(x) < 3 or np.ptp(x) < 1:
        return best[2], best[1]
    slope, level = np.polyfit(x, y, 1)
    return float(level), float(slope)


def _nearest(line: Array, places: Array) -> Array:
    """The place nearest to the line in each band, or the line where none is near."""
    away = np.where(np.isnan(places), np.inf, np.abs(places - line[:, None]))
    best = np.argmin(away, axis=1)
    rows = np.arange(len(line))
    return np.where(away[rows, best] < 1.2, places[rows, best], line)
