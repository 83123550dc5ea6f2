"""The course of the seam across the belt: found as the darkest way from edge to edge.

A finger seam crosses every line along the belt exactly once, so its course is one x for every y.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.lines import Line
from recorder.photo.plane import Plane
from recorder.photo.rectified import rectify
from recorder.photo.refusal import Refusal

Array = NDArray[np.float64]

_STEP_MM = 0.1
_WIDEST_GAP_MM = 2.6
_STEEPEST = 16.0  # of the course, mm along the belt for a mm across it
_LEAST_FINGER_MM = 4.0  # shorter zig-zags are a straight seam with a rough edge
_RIM_MM = 0.5  # of the belt that is left out beside each edge
_CLEAR_MM = 2.0  # of the card's cut, which throws a shadow


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
        return np.asarray((self.end - self.begin) / self.length)


@dataclass(frozen=True)
class Seam:
    """flanks: from the upper to the lower edge. reach_mm: smallest and largest x.
    tips: how many turning points lie between the edges.
    """

    flanks: tuple[Flank, ...]
    reach_mm: tuple[float, float]
    tips: int


def find_seam(
    light: NDArray[np.float32],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    upper: Line,
    lower: Line,
) -> Seam:
    """The seam inside the window and between the edges; raises Refusal when none is plain."""
    left, _, right, _ = window_mm
    # rows along the belt and not along the card, so that the first and last finger are whole
    slope, pivot = (upper.slope + lower.slope) / 2, (left + right) / 2
    along_belt = plane.sheared(slope, pivot)
    ends = np.array([left, right])
    tilt = slope * (ends - pivot)
    top = float(np.min(upper.along(ends) - tilt)) - 1
    bottom = float(np.max(lower.along(ends) - tilt)) + 1
    box = (left + _CLEAR_MM, top, right - _CLEAR_MM, bottom)
    raster = rectify(light, along_belt, box, _STEP_MM)
    x = raster.x_mm(np.arange(raster.values.shape[1], dtype=float))
    y = raster.y_mm(np.arange(raster.values.shape[0], dtype=float))
    lean = slope * (x - pivot)
    inside = (y[:, None] > (upper.along(x) - lean)[None, :] + _RIM_MM) & (
        y[:, None] < (lower.along(x) - lean)[None, :] - _RIM_MM
    )
    dark = _missing_light(raster.values, inside)
    whole = inside.all(axis=1)
    if whole.sum() < 20:
        raise Refusal("the belt lies too far askew under the card; turn the card along the belt")
    first, last = np.flatnonzero(whole)[[0, -1]]
    dark = dark[first : last + 1]
    course = _darkest_way(dark)
    along_course = dark[np.arange(len(dark)), course]
    others = dark.copy()
    _blot(others, course, round(3.0 / _STEP_MM))
    second = _darkest_way(others)
    beside = others[np.arange(len(dark)), second]
    contrast, background = float(np.mean(along_course)), float(np.mean(beside))
    broken = float(np.mean(along_course < 0.35 * np.median(along_course)))
    if contrast < 0.05 or contrast < 1.6 * background or broken > 0.25:
        raise Refusal(
            "no seam can be told from the belt's surface; light the splice from the side, "
            "go closer, and show the whole seam inside the card"
        )
    course_x = raster.x_mm(course.astype(float))
    course_y = y[first : last + 1]
    turns = _turning_points(course_x, course_y)
    course_y = course_y + slope * (course_x - pivot)
    flanks = _flanks(course_x, course_y, turns, upper, lower)
    reach = (float(course_x.min()), float(course_x.max()))
    return Seam(flanks, reach, len(turns))


def _missing_light(light: NDArray[np.float32], inside: NDArray[np.bool_]) -> Array:
    """Share of the light around that a thin dark line takes away, 0..1; 0 outside the belt."""
    size = round(_WIDEST_GAP_MM / _STEP_MM) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    belt = np.where(inside, light, 0).astype(np.float32)
    closed = cv2.morphologyEx(
        belt, cv2.MORPH_CLOSE, disc, borderType=cv2.BORDER_CONSTANT, borderValue=0
    )
    share = np.where(inside & (closed > 1e-3), 1 - belt / np.maximum(closed, 1e-3), 0)
    smooth = cv2.GaussianBlur(share.astype(np.float32), (0, 0), 0.8)
    return np.where(inside, smooth, 0).astype(float)


def _darkest_way(dark: Array) -> NDArray[np.int64]:
    """Column for every row, of largest sum, moving at most ``_STEEPEST`` columns a row."""
    reach = int(_STEEPEST)
    rows, columns = dark.shape
    total = dark[0].copy()
    came = np.zeros((rows, columns), np.int16)
    shifts = np.arange(-reach, reach + 1)
    index = np.arange(columns)
    for row in range(1, rows):
        padded = np.pad(total, reach, constant_values=-1e9)
        choices = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
        # a tiny price on moving keeps the way straight where nothing is dark
        priced = choices - 2e-4 * np.abs(shifts)
        best = np.argmax(priced, axis=1)
        came[row] = best - reach
        total = priced[index, best] + dark[row]
    course = np.empty(rows, np.int64)
    course[-1] = int(np.argmax(total))
    for row in range(rows - 1, 0, -1):
        course[row - 1] = course[row] + came[row, course[row]]
    return course


def _blot(dark: Array, course: NDArray[np.int64], reach: int) -> None:
    """Take a course and what lies near it out, so that the next best can be found."""
    mask = np.zeros(dark.shape, np.uint8)
    points = np.column_stack([course, np.arange(len(course))]).astype(np.int32)
    cv2.polylines(mask, [points.reshape(-1, 1, 2)], False, 1, thickness=2 * reach)
    dark[mask > 0] = 0


def _turning_points(x: Array, y: Array) -> list[int]:
    """Rows where the course turns back along the belt by at least 40 % of its whole reach."""
    level = x - np.polyval(np.polyfit(y, x, 1), y)
    reach = float(np.percentile(level, 97) - np.percentile(level, 3))
    if reach < _LEAST_FINGER_MM:
        return []
    need = 0.4 * reach
    turns: list[int] = []
    high = low = 0
    way = 0
    for i in range(1, len(level)):
        high = i if level[i] > level[high] else high
        low = i if level[i] < level[low] else low
        if way >= 0 and level[high] - level[i] > need:
            if way or high > 0:
                turns.append(high)
            way, low = -1, i
        elif way <= 0 and level[i] - level[low] > need:
            if way or low > 0:
                turns.append(low)
            way, high = 1, i
    return turns


def _flanks(x: Array, y: Array, turns: list[int], upper: Line, lower: Line) -> tuple[Flank, ...]:
    """Straight lines through the course between turning points, each cut where two meet."""
    bounds = [0, *turns, len(x) - 1]
    pieces: list[tuple[Array, Array]] = []
    for begin, end in pairwise(bounds):
        if end - begin < 8:
            continue
        trim = max(1, round(0.12 * (end - begin)))
        points = np.column_stack([x[begin:end], y[begin:end]])[trim:-trim]
        pieces.append(_long_axis(points))
    if not pieces:
        raise Refusal("the seam is too short to measure; show it from belt edge to belt edge")
    joints = [_cross(pieces[i], pieces[i + 1]) for i in range(len(pieces) - 1)]
    first = _reach_edge(pieces[0], upper)
    last = _reach_edge(pieces[-1], lower)
    points_in_order = [first, *joints, last]
    made = [Flank(a, b) for a, b in pairwise(points_in_order)]
    return tuple(flank for flank in made if flank.length > 1.0)


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
        kept = near if len(near) >= 4 else kept
    return centre, along * np.sign(along[1] or 1.0)


def _cross(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array:
    (p, u), (q, v) = one, other
    t = np.linalg.lstsq(np.column_stack([u, -v]), q - p, rcond=None)[0]
    return np.asarray(p + u * t[0])


def _reach_edge(piece: tuple[Array, Array], edge: Line) -> Array:
    (x, y), (dx, dy) = piece
    t = (float(edge.at(x)) - y) / (dy - edge.slope * dx or 1e-9)
    return np.array([x + t * dx, y + t * dy])
