"""How long a chart runs until it signals, by theory: Markov chains over the states of its rules.

Average run lengths (ARL) of independent normal values with known mean and spread: number of values
up to and with the one that signals. shift: of the mean, in sigma, from the first value on.
"""

from __future__ import annotations

import functools
from statistics import NormalDist

import numpy as np

_NORMAL = NormalDist()


@functools.cache
def cusum_arl(
    shift: float, k: float = 0.5, h: float = 5.0, sides: int = 2, most: float = float("inf")
) -> float:
    """Of a tabular cumulative sum that starts at zero (Brook and Evans, Biometrika 59, 1972).

    sides: 1 for the upper sum alone; with 2 the rates of both add up, which is exact for k > 0 (Van
    Dobben de Bruyn 1968). most: a value counts for no more than this, in sigma.
    """
    up = _one_side(shift, k, h, most)
    return up if sides == 1 else 1 / (1 / up + 1 / _one_side(-shift, k, h, most))


def _one_side(shift: float, k: float, h: float, most: float, cells: int = 200) -> float:
    """The sum between 0 and h in cells; the first one is narrower and holds what fell to zero."""
    wide = 2 * h / (2 * cells - 1)
    middles = np.arange(cells) * wide
    steps = np.empty((cells, cells))
    for start, middle in enumerate(middles):
        edges = [
            _below(edge - middle + k, shift, most) for edge in (middles + wide / 2)[: cells - 1]
        ]
        steps[start] = np.diff([0.0, *edges, _below(h - middle + k, shift, most)])
    return float(np.linalg.solve(np.eye(cells) - steps, np.ones(cells))[0])


def _below(value: float, shift: float, most: float) -> float:
    """Chance that a value, held within ``most``, is at most this."""
    if value >= most:
        return 1.0
    return 0.0 if value < -most else _NORMAL.cdf(value - shift)


# From the lowest zone to the highest: which of the bounds 1, 2, 3 sigma lie between it and the
# centre, with the side.
_ZONES = (-4, -3, -2, -1, 1, 2, 3, 4)
_State = tuple[int, ...]


@functools.cache
def zones_arl(shift: float) -> float:
    """Of the four zone rules together (the chain of Champ and Woodall, Technometrics 29, 1987).

    The state is what the rules remember: for each side the last two values beyond two sigma and
    the last four beyond one, and how many in a row lie on one side.
    """
    bounds = [_NORMAL.cdf(bound - shift) for bound in (-3, -2, -1, 0, 1, 2, 3)]
    chances = np.diff([0.0, *bounds, 1.0])
    start: _State = (0, 0, 0, 0, 0)
    numbers = {start: 0}
    arrows: list[tuple[int, int, float]] = []
    waiting = [start]
    while waiting:
        state = waiting.pop()
        for zone, chance in zip(_ZONES, chances, strict=True):
            after = _after(state, zone)
            if after is None:
                continue
            if after not in numbers:
                numbers[after] = len(numbers)
                waiting.append(after)
            arrows.append((numbers[state], numbers[after], chance))
    steps = np.zeros((len(numbers), len(numbers)))
    for here, there, chance in arrows:
        steps[here, there] += chance
    return float(np.linalg.solve(np.eye(len(numbers)) - steps, np.ones(len(numbers)))[0])


def _after(state: _State, zone: int) -> _State | None:
    """The state after one more value; None when a rule is broken. The newest bit is the lowest."""
    far_up, far_down, off_up, off_down, row = state
    if abs(zone) == 4:
        return None
    far = [(far_up << 1) | (zone >= 3), (far_down << 1) | (zone <= -3)]
    off = [(off_up << 1) | (zone >= 2), (off_down << 1) | (zone <= -2)]
    row = (
        row + 1
        if zone > 0 and row >= 0
        else row - 1
        if zone < 0 and row <= 0
        else zone // abs(zone)
    )
    if any(bits.bit_count() >= 2 for bits in far) or any(bits.bit_count() >= 4 for bits in off):
        return None
    if abs(row) >= 8:
        return None
    return far[0] & 3, far[1] & 3, off[0] & 15, off[1] & 15, row
