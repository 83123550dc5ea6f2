"""The seam across the belt: its flanks from tip to tip, and where it leaves the belt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.lines import Line
from recorder.photo.geometry.plane import Plane
from recorder.photo.seam.candidates import SHOWS, Candidate, no_second, plainest
from recorder.photo.seam.course import Lines
from recorder.photo.seam.flanks import Flank, at_x, flanks_of, y_at
from recorder.photo.seam.rows import Rows, light_of, rows_of

Array = NDArray[np.float64]

_TIP_MM = 2.0  # a tip is looked for so far along the belt
_FLAT_MM = 0.5  # a tip less broad is a point


@dataclass(frozen=True)
class Seam:
    """flanks: from the upper to the lower edge. reach_mm: smallest and largest x.
    tips: how many turning points lie between the edges; turns: their places (tips, 2), mm, on the
    middle of the slot. leaves_mm: x at which it leaves the belt at the upper and the lower edge.
    dark: whether the slot is darker than the belt.
    """

    flanks: tuple[Flank, ...]
    reach_mm: tuple[float, float]
    tips: int
    turns: Array
    leaves_mm: tuple[float, float]
    dark: bool


def find_seam(
    grey: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    upper: Line,
    lower: Line,
) -> Seam:
    """The seam inside the window and between the edges; raises Refusal when none is plain.

    grey: codes of the photo's luma.
    """
    face = rows_of(grey, plane, window_mm, upper, lower)
    light = light_of(face.raster.values)
    found, candidate = plainest(light, face)
    no_second(found, candidate, face)
    flanks, whole = flanks_of(candidate, found, face, upper, lower)
    turns = _tips(flanks, candidate, found, face)
    flanks = _cut(flanks, turns)
    x = np.array([end[0] for flank in flanks for end in (flank.begin, flank.end)])
    reach = float(x.min()), float(x.max())
    leaves = [float(flanks[0].begin[0]), float(flanks[-1].end[0])]
    if len(turns) > 2 and not whole[0]:
        leaves[0] = _meets(flanks[1], float(turns[0, 1] - turns[2, 1]), upper, reach)
    if len(turns) > 2 and not whole[1]:
        leaves[1] = _meets(flanks[-2], float(turns[-1, 1] - turns[-3, 1]), lower, reach)
    return Seam(flanks, reach, len(turns), turns, (leaves[0], leaves[1]), found.dark)


def _meets(like: Flank, farther: float, edge: Line, reach: tuple[float, float]) -> float:
    """x at which a flank beyond the last tip, of which too little shows, meets an edge: it runs
    like the last but one, a pitch ``farther`` down.
    """
    off = y_at(like, np.array(reach)) + farther - edge.along(np.array(reach))
    if off[0] == off[1]:
        return sum(reach) / 2
    share = float(np.clip(off[0] / (off[0] - off[1]), 0, 1))
    return reach[0] + share * (reach[1] - reach[0])


def _tips(flanks: tuple[Flank, ...], candidate: Candidate, found: Lines, face: Rows) -> Array:
    """The tips themselves, (n, 2) mm, on the middle of the slot: where flat ones are cut off, not
    where their flanks would meet.
    """
    step = face.raster.step
    points = face.straight(np.column_stack([candidate.x, candidate.y]))
    made = np.array([flank.end for flank in flanks[:-1]]).reshape(-1, 2)
    for k, crossing in enumerate(made):
        seen = candidate.x[
            min(candidate.turns, key=lambda row: abs(points[row, 1] - float(crossing[1])))
        ]
        out = 1.0 if crossing[0] > (flanks[k].begin[0] + flanks[k + 1].end[0]) / 2 else -1.0
        x = seen + out * np.arange(-_TIP_MM, 2 * _TIP_MM, step)
        wide = np.array([abs(_apart(flanks[k], flanks[k + 1], float(at))) for at in x])
        middle = (y_at(flanks[k], x) + y_at(flanks[k + 1], x)) / 2
        row, half = face.row(x, middle), wide / 4 / step
        strength = _strength(found.share, face.raster.column(x), row, half)
        before = out * (x - crossing[0]) < step  # where the flanks have not met yet
        best = int(np.argmax(np.where(before, strength, 0.0)))
        # the slots of a pointed tip run together into one that goes on to where they meet
        slot = np.flatnonzero(before & (strength > 0.6 * strength[best]))
        shows = len(slot) > 0 and strength[best] > SHOWS * candidate.level
        if shows and wide[slot[-1]] > _FLAT_MM:
            made[k] = x[best] + out * step * _between(strength, best), middle[best]
        elif abs(crossing[0] - seen) > 2 * _TIP_MM:  # flanks so alike that they meet far away
            made[k, 0] = seen
    return made


def _strength(share: NDArray[np.float32], column: Array, row: Array, half: Array) -> Array:
    """Mean share in a piece of each column, ``half`` rows up and down from a row."""
    made = np.zeros(len(column))
    for i, (x, y, reach) in enumerate(zip(column, row, np.maximum(half, 0.5), strict=True)):
        top, bottom = max(round(y - reach), 0), round(y + reach) + 1
        part = share[top:bottom, min(max(round(x), 0), share.shape[1] - 1)]
        made[i] = part.mean() if len(part) else 0.0
    return made


def _between(values: Array, best: int) -> float:
    """Place of the top of a parabola about the largest of some values, in steps."""
    if not 0 < best < len(values) - 1:
        return 0.0
    before, top, after = values[best - 1 : best + 2]
    bend = before - 2 * top + after
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5)) if bend < 0 else 0.0


def _apart(one: Flank, other: Flank, x: float) -> float:
    """Distance across the belt between the lines of two flanks at x."""
    return float(y_at(other, np.array([x]))[0] - y_at(one, np.array([x]))[0])


def _cut(flanks: tuple[Flank, ...], turns: Array) -> tuple[Flank, ...]:
    """Flanks that end at their tips; the outer ends of the first and last, which lie at the edges
    of the belt, reach no farther along it than the tips do.
    """
    made = []
    for k, flank in enumerate(flanks):
        begin = flank.begin if k == 0 else at_x(flank, float(turns[k - 1, 0]))
        end = flank.end if k == len(flanks) - 1 else at_x(flank, float(turns[k, 0]))
        if len(turns) > 1:
            low, high = float(turns[:, 0].min()), float(turns[:, 0].max())
            begin = at_x(flank, float(np.clip(begin[0], low, high)))
            end = at_x(flank, float(np.clip(end[0], low, high)))
        made.append(Flank(begin, end))
    return tuple(made)
