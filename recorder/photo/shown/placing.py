"""Where labels go, so that none lies on another or leaves the picture."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, top, right, bottom


class Room:
    """The free room of a picture of ``size`` (width, height), which labels fill one by one."""

    def __init__(self, size: tuple[int, int], rim: float) -> None:
        self._size = size
        self._rim = rim
        self._taken: list[Box] = []

    def take(self, box: Box) -> None:
        self._taken.append(box)

    def choose(self, centres: Iterable[Array], half: tuple[float, float]) -> Array:
        """Take the first centre whose box of ``half`` width and height lies on nothing, or else
        the one that lies on least.
        """
        best: Array | None = None
        least = np.inf
        for wish in centres:
            centre = self._inside(wish, half)
            box = (*(centre - half), *(centre + half))
            lies_on = sum(_overlap(box, other) for other in self._taken)
            if lies_on < least:
                best, least = centre, lies_on
            if lies_on == 0:
                break
        if best is None:
            raise ValueError("a label needs at least one place to choose from")
        self.take((*(best - half), *(best + half)))
        return best

    def _inside(self, centre: Array, half: tuple[float, float]) -> Array:
        low = np.array(half) + self._rim
        return np.asarray(np.clip(centre, low, np.maximum(self._size - low, low)))


def _overlap(one: Box, other: Box) -> float:
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return max(across, 0.0) * max(down, 0.0)


def spread(wanted: list[float], apart: float, low: float, high: float) -> list[float]:
    """Places as near to ``wanted`` as can be, in the same order along the line, ``apart`` or more
    from each other and between ``low`` and ``high``; closer where they would not fit otherwise.
    """
    count = len(wanted)
    if count > 1:
        apart = min(apart, (high - low) / (count - 1))
    order = np.argsort(wanted, kind="stable")
    # the least squares fit of a rising course, by pooling what falls
    pools: list[list[float]] = []
    for rank, index in enumerate(order):
        pools.append([wanted[index] - rank * apart])
        while len(pools) > 1 and np.mean(pools[-2]) > np.mean(pools[-1]):
            last = pools.pop()
            pools[-1].extend(last)
    level = [float(np.mean(pool)) for pool in pools for _ in pool]
    found = [0.0] * count
    for rank, index in enumerate(order):
        found[index] = float(np.clip(level[rank], low, high - (count - 1) * apart)) + rank * apart
    return found
