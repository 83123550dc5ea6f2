"""Where points stand from left to right: each by itself, or the earlier ones in groups.

A chart is read by the order of its points, not by days, so that each takes the same room. More than
fit would become a black band; then the newest stand by themselves, and the earlier ones in groups,
each shown from its lowest to its highest.
"""

from __future__ import annotations

from dataclasses import dataclass

_APART = 5.0  # units between two points that can be told apart
_NEWEST = 0.62  # share of the width for points by themselves, where earlier ones are in groups
_GROUP = 5.0  # units that a group takes at least


@dataclass(frozen=True)
class Group:
    """Points from ``first`` to ``last``, both included, in the middle of their room at ``x``."""

    first: int
    last: int
    x: float
    wide: float


@dataclass(frozen=True)
class Columns:
    """groups: of the earlier points. begin: place of the first point by itself. edge: where those
    begin, None without groups.
    """

    left: float
    right: float
    count: int
    begin: int = 0
    edge: float | None = None
    groups: tuple[Group, ...] = ()

    @property
    def each(self) -> float:
        """Units that one point takes."""
        start = self.left if self.edge is None else self.edge
        return (self.right - start) / max(self.count - self.begin, 1)

    @property
    def shows_uncertainty(self) -> bool:
        """Whether there is room for a bar at each point."""
        return self.each >= 4

    def x(self, place: int) -> float:
        """Of a point; of its group where it is in one."""
        if place < self.begin:
            return next(it.x for it in self.groups if it.first <= place <= it.last)
        start = self.left if self.edge is None else self.edge
        return start + self.each * (place - self.begin + 0.5)


def columns(count: int, left: float, right: float) -> Columns:
    """So many points between two places."""
    room = right - left
    if count <= room / _APART:
        return Columns(left, right, count)
    edge = right - room * _NEWEST
    newest = int((right - edge) / (1.4 * _APART))
    begin = count - newest
    most = int((edge - left) / _GROUP)
    size = -(-begin // most)
    starts = range(0, begin, size)
    wide = (edge - left) / len(starts)
    groups = tuple(
        Group(first, min(first + size, begin) - 1, left + wide * (number + 0.5), wide)
        for number, first in enumerate(starts)
    )
    return Columns(left, right, count, begin, edge, groups)
