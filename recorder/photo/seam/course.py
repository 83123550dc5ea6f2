"""The best way from edge to edge along a thin line: what a seam is on a coarse raster.

A finger seam crosses every line along the belt once, so that its course is one column for every
row. What counts is how far a line goes on in its own direction and how much it differs from what
lies beside it, over its whole length: a long zig-zag wins against a darker straight line.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float32]

# Columns for a row, of the directions that a course may take.
SLOPES = (0, 1, 2, 3, 4, 6, 8, 11, 16, 23)
_RIDGE_ROWS = 5
_LEVEL_FROM = 2.0  # slopes from which a line lies along the rows rather than across them
_WIDEST_GAP_MM = 2.6
_REACH_MM = 1.0  # a line is looked at so far to both sides along it
_KEPT = 0.7
_PRICE = 0.3  # of being off a line, in its contrast
_FULL = 0.8  # of its contrast; more counts no more, so that a faint flank is not left out
_MOST_SHARE = 0.5  # of the light; at first more contrast counts no more
_FIRST_TURN = 0.25
_LEAST_STEP = 0.06  # between the tones of the two ends
_STEEPER = 1.7
_TURN_REACH = 0.1  # the same for long fingers: in their length
_TURN_MM = 2.0  # price of turning back, in the gain of so much of a line
_LEAST_SHARE = 0.02  # of the light, below which nothing is a line
_NOISES = 2.0  # what stands out from the surface, in its own spread


@dataclass(frozen=True)
class Lines:
    """Where lines run, inside the belt. held: (2, k, rows, columns) share of the light that a line
    takes away (or adds, where ``dark`` is false) in the direction of a row's step to the right
    (first) or to the left with each of SLOPES. share: (rows, columns) the same, whatever its
    direction. noise: (2, k) what stands for nothing.
    """

    held: Array
    share: Array
    inside: NDArray[np.bool_]
    noise: Array
    step_mm: float
    dark: bool

    @property
    def strength(self) -> float:
        """How much of the belt's face is covered by lines, and how strong they are."""
        over = np.maximum(self.held.max(axis=(0, 1)) - self.noise.max(), 0)
        return float(over[self.inside].mean())


@dataclass(frozen=True)
class Course:
    """columns: (rows,) one for each. gain: along it. level: what a line holds at every row."""

    columns: NDArray[np.int64]
    gain: float
    level: Array

    @property
    def way(self) -> Array:
        """Length from every row to the next, in steps."""
        return np.hypot(1, np.diff(self.columns, prepend=self.columns[0])).astype(np.float32)

    @property
    def usual(self) -> float:
        """Median of the share along it, by length."""
        order = np.argsort(self.level)
        along = np.cumsum(self.way[order])
        return float(self.level[order][np.searchsorted(along, along[-1] / 2)])


def lines(light: Array, inside: NDArray[np.bool_], step_mm: float, dark: bool) -> Lines:
    """Thin lines darker (or lighter) than what lies beside them, wherever ``inside``.

    Where the two ends of the belt differ in tone, the step from one to the other counts as well.
    """
    share = _share(light, inside, step_mm, dark)
    ridge = _ridge(share)
    reach = max(round(_REACH_MM / step_mm), 2)
    tones = _tones(light, inside) if dark else None
    held, noises = [], []
    for way in (1, -1):
        leaning = {}
        for slope in (0.5, *SLOPES):
            along = np.array([way * slope, 1.0]) / np.hypot(slope, 1)
            kernel = _piece(along, reach)
            seen = share if slope < _LEVEL_FROM else ridge
            mean = cv2.filter2D(seen, -1, kernel, borderType=cv2.BORDER_CONSTANT)
            if tones is not None:
                mean += np.where(inside, _step(light, kernel, along, reach, tones), 0)
            leaning[slope] = _held(np.asarray(mean, np.float32), along, reach)
        for slope in SLOPES:
            here = leaning[slope]
            if slope < 2:  # between a step straight down and one aside lies a direction of its own
                here = np.maximum(here, leaning[0.5])
            usual, high = np.percentile(here[inside][::7], (50, 80))
            noises.append(usual + _NOISES * 1.2 * (high - usual) + _LEAST_SHARE)
            held.append(here)
    together = np.stack(held).reshape(2, len(SLOPES), *light.shape)
    noise = np.array(noises, np.float32).reshape(2, len(SLOPES))
    return Lines(together, share, inside, noise, step_mm, dark)


def _tones(light: Array, inside: NDArray[np.bool_]) -> tuple[float, float] | None:
    """Light of the left and of the right end, where they differ."""
    part = light.shape[1] // 5
    left = float(np.median(light[:, :part][inside[:, :part]]))
    right = float(np.median(light[:, -part:][inside[:, -part:]]))
    return (left, right) if abs(right - left) > _LEAST_STEP * max(left, right) else None


def _step(
    light: Array, kernel: Array, along: Array, reach: int, tones: tuple[float, float]
) -> Array:
    """Half of the share of light by which the ends differ, where one gives way to the other."""
    mean = np.asarray(cv2.filter2D(light, -1, kernel, borderType=cv2.BORDER_REPLICATE), np.float32)
    dx, dy = np.round(np.array([along[1], -along[0]]) * reach).astype(int)
    change = _moved(mean, -dx, -dy) - _moved(mean, dx, dy)
    part = np.clip(change / (tones[1] - tones[0]), 0, 1)
    part[:, : 2 * reach] = part[:, -2 * reach :] = 0.0  # nothing lies beyond to compare with
    return np.asarray(part * 0.5 * abs(tones[1] - tones[0]) / max(tones), np.float32)


def _share(light: Array, inside: NDArray[np.bool_], step_mm: float, dark: bool) -> Array:
    """Share of the light around that a thin line takes away or adds, 0..1; 0 outside the belt."""
    size = round(_WIDEST_GAP_MM / step_mm) | 1
    square = cv2.getStructuringElement(cv2.MORPH_RECT, (size, size))
    belt = np.where(inside, light, 9.0 if dark else -9.0).astype(np.float32)
    way = cv2.MORPH_CLOSE if dark else cv2.MORPH_OPEN
    around = cv2.morphologyEx(belt, way, square, borderType=cv2.BORDER_REPLICATE)
    around = np.clip(around, 1e-3, 1.0)
    share = 1 - light / around if dark else 1 - around / np.maximum(light, 1e-3)
    smooth = cv2.GaussianBlur(np.clip(share, 0, 1), (0, 0), 0.7)
    return np.where(inside, smooth, 0).astype(np.float32)


def _ridge(share: Array) -> Array:
    """Only the middle of what lies along the rows, so that no course runs to and fro inside a broad
    slot: the rows where the share, averaged over about a millimetre of rows, is largest.
    """
    broad = cv2.blur(share, (1, _RIDGE_ROWS))
    beside = np.ones((_RIDGE_ROWS, 1), np.uint8)
    middle = (broad >= 0.999 * cv2.dilate(broad, beside)) & (broad > 0.01)
    top = np.where(middle, cv2.dilate(share, np.ones((3, 1), np.uint8)), 0)
    return np.asarray(cv2.dilate(top.astype(np.float32), np.ones((3, 1), np.uint8)), np.float32)


def _piece(along: NDArray[np.float64], reach: int) -> Array:
    """Kernel that averages along a direction, ``reach`` long."""
    size = 2 * (reach // 2) + 3
    kernel = np.zeros((size, size), np.float32)
    middle = size // 2
    for t in np.linspace(-reach / 2, reach / 2, 2 * reach + 1):
        x, y = along * t + middle
        kernel[round(y), round(x)] += 1
    return np.asarray(kernel / kernel.sum(), np.float32)


def _held(mean: Array, along: NDArray[np.float64], reach: int) -> Array:
    """What a line keeps in one direction: the least of three pieces one after another, so that
    nothing short is a line; and some of the middle piece, so that its ends are kept.
    """
    dx, dy = np.round(along * reach).astype(int)
    held = np.minimum(mean, np.minimum(_moved(mean, dx, dy), _moved(mean, -dx, -dy)))
    return np.asarray(_KEPT * held + (1 - _KEPT) * mean, np.float32)


def _moved(values: Array, dx: int, dy: int) -> Array:
    shift = np.array([[1, 0, dx], [0, 1, dy]], float)
    return np.asarray(
        cv2.warpAffine(values, shift, values.shape[::-1], flags=cv2.INTER_NEAREST), np.float32
    )


def best_course(found: Lines, taken: NDArray[np.bool_] | None = None, least: float = 0.0) -> Course:
    """The course of largest gain, away from what is ``taken`` (rows, columns).

    First with a low price on leaving a line, then with one that fits the line that was found, so
    that the course neither leaves it to visit another nor shakes to and fro on a broad one. What
    shows less than ``least`` is not looked at twice.
    """
    course = _way(found, found.noise, _MOST_SHARE, _FIRST_TURN, taken)
    if course.usual <= least:
        return course
    price = np.maximum(found.noise, _PRICE * course.usual)
    most = _FULL * course.usual
    reach_mm = found.step_mm * float(np.ptp(np.percentile(course.columns, (3, 97))))
    dear = max(_TURN_MM, _TURN_REACH * reach_mm)
    turn = dear * max(most - float(np.median(price)), 0.0)
    # no steeper than the line itself, or the course runs to and fro inside a broad one
    steep = np.array(SLOPES) > _STEEPER * _slope(found, course)
    price = np.where(steep, np.float32(9.0), price)
    return _way(found, price, most, turn, taken)


def _slope(found: Lines, course: Course) -> float:
    """Of the directions, in SLOPES, that hold best along a course; at least one step aside."""
    row = np.arange(len(course.columns))
    shows = course.level > 0.5 * course.usual
    here = found.held[:, :, row[shows], course.columns[shows]].max(axis=0)
    alike = here >= 0.97 * here.max(axis=0)
    usual = (alike * np.array(SLOPES)[:, None]).sum(axis=0) / alike.sum(axis=0)
    way = course.way[shows]
    order = np.argsort(usual)
    along = np.cumsum(way[order])
    return max(float(usual[order][np.searchsorted(along, 0.6 * along[-1])]), 1.0)


def _way(
    found: Lines, price: Array, most: float, turn: float, taken: NDArray[np.bool_] | None
) -> Course:
    """price: (2, k) of being off a line. most: share of the light; more counts no more. turn: price
    of turning back.
    """
    length = found.step_mm * np.hypot(1, np.array(SLOPES, np.float32))
    gains = np.minimum(found.held, most) - price[:, :, None, None]
    gains *= length[None, :, None, None]
    gains[:, :, ~found.inside] = 0
    if taken is not None:
        np.copyto(gains, np.float32(-0.05), where=taken)
    rows, columns = found.share.shape
    index = np.arange(columns)
    slopes = np.array(SLOPES)
    come = np.stack([np.clip(index - way * slopes[:, None], 0, columns - 1) for way in (1, -1)])
    steps = np.full((rows, 2, len(SLOPES), columns), np.float32(-1e6))
    for k, slope in enumerate(SLOPES):  # a step must lie on a line at both its ends
        after, before = slice(slope, columns), slice(0, columns - slope)
        np.minimum(gains[0, k, :-1, before], gains[0, k, 1:, after], out=steps[1:, 0, k, after])
        np.minimum(gains[1, k, :-1, after], gains[1, k, 1:, before], out=steps[1:, 1, k, before])
    total = np.zeros((2, columns), np.float32)
    turned = np.zeros((rows, 2, columns), bool)
    chosen = np.zeros((rows, 2, columns), np.int8)
    ways = np.arange(2)[:, None, None]
    for row in range(1, rows):
        other = total[::-1] - np.float32(turn)
        turned[row] = other > total
        ends = np.maximum(total, other)[ways, come]
        ends += steps[row]
        best = np.argmax(ends, axis=1)
        chosen[row] = best
        total = np.take_along_axis(ends, best[:, None], axis=1)[:, 0]
    course = np.empty(rows, np.int64)
    way = int(np.argmax(total.max(axis=1)))
    course[-1] = int(np.argmax(total[way]))
    gain = float(total[way, course[-1]])
    for row in range(rows - 1, 0, -1):
        here = course[row]
        before = come[way][chosen[row, way, here], here]
        if turned[row, way, before]:
            way = 1 - way
        course[row - 1] = before
    return Course(course, gain, _level(found.held.max(axis=(0, 1)), course))


def _level(held: Array, course: NDArray[np.int64]) -> Array:
    """Mean along the way to each row's column from that of the row before."""
    rows = np.arange(len(course))
    level = held[rows, course].astype(float)
    for row in range(1, len(course)):
        count = abs(int(course[row] - course[row - 1]))
        if count > 1:
            t = np.linspace(0, 1, count + 1)
            x = np.round(course[row - 1] + t * (course[row] - course[row - 1])).astype(int)
            y = np.round(row - 1 + t).astype(int)
            level[row] = held[y, x].mean()
    return np.asarray(level, np.float32)


def beside(course: Course, shape: tuple[int, int], reach: int) -> NDArray[np.bool_]:
    """What lies within ``reach`` of a course, as a mask."""
    mask = np.zeros(shape, np.uint8)
    points = np.column_stack([course.columns, np.arange(len(course.columns))]).astype(np.int32)
    cv2.polylines(mask, [points.reshape(-1, 1, 2)], False, 1, thickness=2 * reach + 1)
    return mask > 0
