"""The flanks of a seam: straight lines through its course from one turning point to the next."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.lines import Line, through
from recorder.photo.image.refusal import Refusal
from recorder.photo.seam.candidates import APART, LEAST_FINGER_MM, SHOWS, Candidate, noise_of
from recorder.photo.seam.course import Lines
from recorder.photo.seam.rows import Rows

Array = NDArray[np.float64]

_FLANK_UNBROKEN = 0.5
_LEAST_FLANK_MM = 1.0
_ROUNDED_MM = 1.5  # a course cuts the corners beside a tip so far along the belt
_ACROSS_MM = 0.8  # to both sides of a flank, for its middle


@dataclass(frozen=True)
class Flank:
    """A straight piece of the seam from one tip to the next, (2,) mm each, from upper to lower."""

    begin: Array
    end: Array

    @property
    def length(self) -> float:
        return float(np.linalg.norm(self.end - self.begin))

    @property
    def along(self) -> Array:
        return np.asarray((self.end - self.begin) / max(self.length, 1e-9))


def flanks_of(
    candidate: Candidate, found: Lines, face: Rows, upper: Line, lower: Line
) -> tuple[tuple[Flank, ...], tuple[bool, bool]]:
    """Straight lines through the course between turning points, each cut where two meet; and
    whether the first and the last reach the edge of the belt.
    """
    bounds = [0, *candidate.turns, len(candidate.x) - 1]
    pieces: list[tuple[Array, Array]] = []
    points = face.straight(np.column_stack([candidate.x, candidate.y]))
    whole = [True, True]
    faintest = max(0.5 * SHOWS * candidate.level, noise_of(found))
    for number, (begin, end) in enumerate(pairwise(bounds)):
        piece = points[begin : end + 1]
        outer = number in (0, len(bounds) - 2)
        if outer and len(bounds) > 2 and _is_stub(piece):
            whole[0 if number == 0 else 1] = False
            continue
        shows = candidate.course.level[begin:end] > faintest
        if shows.mean() < _FLANK_UNBROKEN:
            raise Refusal(
                "a finger of the seam cannot be seen; clear and clean the splice, avoid glare and "
                "shadows on it, and take the photo again"
            )
        kept = _off_the_tips(piece)
        pieces.append(_centred(_long_axis(kept), kept, found, face))
    if not pieces:
        raise Refusal("the seam is too short to measure; show it from belt edge to belt edge")
    joints = [_cross(pieces[i], pieces[i + 1]) for i in range(len(pieces) - 1)]
    first = _reach_edge(pieces[0], upper) if whole[0] else _foot(pieces[0], points[bounds[1]])
    last = _reach_edge(pieces[-1], lower) if whole[1] else _foot(pieces[-1], points[bounds[-2]])
    made = tuple(Flank(a, b) for a, b in pairwise([first, *joints, last]))
    if min(flank.length for flank in made) < _LEAST_FLANK_MM:
        raise Refusal(APART)
    return made, (whole[0], whole[1])


def _is_stub(piece: Array) -> bool:
    """Too little of a flank to say where it runs: the seam is taken to end at its last tip."""
    return len(piece) < 4 or float(np.linalg.norm(piece[-1] - piece[0])) < LEAST_FINGER_MM


def _off_the_tips(points: Array) -> Array:
    """Those of a flank that lie between its ends along the belt: tips may be flat or rounded."""
    low, high = points[:, 0].min(), points[:, 0].max()
    if high - low < LEAST_FINGER_MM:
        trim = max(1, round(0.12 * len(points)))
        return points[trim:-trim]
    trim = max(0.1 * (high - low), min(_ROUNDED_MM, 0.25 * (high - low)))
    between = (points[:, 0] > low + trim) & (points[:, 0] < high - trim)
    return points[between] if between.sum() >= 3 else points


def _long_axis(points: Array) -> tuple[Array, Array]:
    """Point and direction of the line that leaves the least squared distance, twice trimmed."""
    kept = points
    centre, along = points.mean(0), np.array([0.0, 1.0])
    for _ in range(3):
        centre = kept.mean(axis=0)
        along = np.linalg.svd(kept - centre, full_matrices=False)[2][0]
        across = (points - centre) @ np.array([-along[1], along[0]])
        limit = max(2.5 * 1.4826 * float(np.median(np.abs(across))), 0.08)
        near = points[np.abs(across) < limit]
        kept = near if len(near) >= 3 else kept
    return centre, along * np.sign(along[1] or 1.0)


def _centred(
    piece: tuple[Array, Array], points: Array, found: Lines, face: Rows
) -> tuple[Array, Array]:
    """The line moved onto the middle of the slot, by the share of light across it."""
    for _ in range(2):
        centre, along = piece
        normal = np.array([-along[1], along[0]])
        way = (points - centre) @ along
        s = np.linspace(way.min(), way.max(), max(5, round(float(np.ptp(way)) / 0.5)))
        d = np.linspace(-_ACROSS_MM, _ACROSS_MM, 17)
        at = centre + s[:, None, None] * along + d[:, None] * normal
        column = face.raster.column(at[..., 0]).astype(np.float32)
        row = face.row(at[..., 0], at[..., 1]).astype(np.float32)
        share = cv2.remap(found.share, column, row, cv2.INTER_LINEAR)
        weight = np.maximum(share - 0.4 * share.max(axis=1, keepdims=True), 0)
        total = weight.sum(axis=1)
        seen = total > 0.2 * float(np.median(total))
        if seen.sum() < 4:
            return piece
        offset = (weight * d).sum(axis=1)[seen] / total[seen]
        line = through(s[seen], offset)
        piece = centre + line.at(0.0) * normal, along + line.slope * normal
        piece = piece[0], piece[1] / np.linalg.norm(piece[1])
    return piece


def _cross(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array:
    (p, u), (q, v) = one, other
    t = np.linalg.lstsq(np.column_stack([u, -v]), q - p, rcond=None)[0]
    return np.asarray(p + u * t[0])


def _foot(piece: tuple[Array, Array], tip: Array) -> Array:
    """The end of a flank beside a tip on whose middle the course turned."""
    centre, along = piece
    return np.asarray(centre + ((tip[0] - centre[0]) / (along[0] or 1e-9)) * along)


def _reach_edge(piece: tuple[Array, Array], edge: Line) -> Array:
    (x, y), (dx, dy) = piece
    t = (float(edge.at(x)) - y) / (dy - edge.slope * dx or 1e-9)
    return np.array([x + t * dx, y + t * dy])


def y_at(flank: Flank, x: Array) -> Array:
    rise = flank.along[1] / (flank.along[0] or 1e-9)
    return np.asarray(flank.begin[1] + (x - flank.begin[0]) * rise)


def at_x(flank: Flank, x: float) -> Array:
    t = (x - flank.begin[0]) / (flank.along[0] or 1e-9)
    return np.asarray(flank.begin + t * flank.along)
