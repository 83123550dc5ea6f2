"""What a person should look at: open, unmeshed or short fingers, and steps in brightness."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.model.measurement import FlagKind
from recorder.photo.geometry.plane import Plane
from recorder.photo.geometry.rectified import Raster, rectify
from recorder.photo.image.light import linear
from recorder.photo.seam.ends import Ends
from recorder.photo.seam.gap import GapProfile
from recorder.photo.seam.seam import Seam
from recorder.photo.seam.tips import Tip

Array = NDArray[np.float64]

# Common practice, no source: from where an eye would stop at it.
_OPEN_SHARE, _OPEN_MM = 2.2, 0.3  # a finger's gap over that of the others
_TIP_SHARE, _TIP_MM = 2.0, 0.7  # the same at a tip
_PULLED = 0.5  # of the gap that a finger pulled back would have along its flanks
_TONE = 0.15  # step in light between the two ends
_SPOT = 0.12  # step in light of a spot at the splice
_LEAST_SPOT_MM2 = 10.0
_JOINED_MM = 3.0  # pieces so near to each other are one
_BESIDE_MM = 5.0  # of the seam's reach, where press and heat act
_AT_SPLICE = 0.85  # share of a spot that lies there; a shadow goes on
_STEP_MM = 0.5
_BLUR_MM = 1.5
_RIM_MM = 1.5
_NEAR_MM = 1.5  # from the seam, where its two sides are compared
_SLOT_MM = 0.6  # beside the middle of the seam, left out


@dataclass(frozen=True)
class Notice:
    """kind: what it may be. text: one line for a person. at: (2,) mm on the belt, or None."""

    kind: FlagKind
    text: str
    at: Array | None = None


def notices(
    grey: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    seam: Seam,
    gaps: GapProfile,
    tips: list[Tip],
    ends: Ends,
) -> tuple[Notice, ...]:
    """In order along the seam, steps in brightness last. tips: those that stand open."""
    fingers = [*_open_fingers(gaps), *_open_at_tips(tips, gaps)]
    fingers.sort(key=lambda notice: 0.0 if notice.at is None else float(notice.at[1]))
    return (*fingers, *_steps(grey, plane, window_mm, seam, gaps, ends))


def _flank_gaps(gaps: GapProfile) -> dict[int, float]:
    """Mean gap of every flank that was read, mm."""
    made: dict[int, list[float]] = {}
    for point in gaps.points:
        made.setdefault(point.flank, []).append(point.gap)
    return {flank: float(np.mean(found)) for flank, found in made.items()}


def _open_fingers(gaps: GapProfile) -> Iterator[Notice]:
    by_flank = _flank_gaps(gaps)
    usual = float(np.median(list(by_flank.values())))
    for flank, gap in by_flank.items():
        if gap > _OPEN_SHARE * usual and gap > usual + _OPEN_MM:
            at = (gaps.flanks[flank].begin + gaps.flanks[flank].end) / 2
            text = f"flank {flank + 1} stands open: {gap:.1f} mm where others have {usual:.1f} mm"
            yield Notice(FlagKind.OPEN_FINGER, text, at)


def _open_at_tips(tips: list[Tip], gaps: GapProfile) -> Iterator[Notice]:
    """A finger pulled back stands open along its flanks as well; one cut short only at its tip."""
    by_flank = _flank_gaps(gaps)
    usual = float(np.median(list(by_flank.values())))
    at_tips = max(usual, float(np.median([tip.gap for tip in tips])) if tips else 0.0)
    for tip in tips:
        excess = tip.gap - at_tips
        if excess < _TIP_MM or tip.gap < _TIP_SHARE * at_tips:
            continue
        flanks = [k for k in (tip.number, tip.number + 1) if k in by_flank]
        sine = np.mean([abs(gaps.flanks[k].along[1]) for k in flanks]) if flanks else 0.0
        wider = np.mean([by_flank[k] - usual for k in flanks]) if flanks else 0.0
        if wider > _PULLED * excess * sine and wider > 0.05:
            text = f"the finger at tip {tip.number + 1} is not pushed home: {tip.gap:.1f} mm open"
            yield Notice(FlagKind.UNMESHED_FINGER, text, tip.at)
        else:
            text = f"the finger at tip {tip.number + 1} is short: {tip.gap:.1f} mm open at its tip"
            yield Notice(FlagKind.TRUNCATED_FINGER, text, tip.at)


def _steps(
    grey: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    seam: Seam,
    gaps: GapProfile,
    ends: Ends,
) -> Iterator[Notice]:
    """Steps in light, against the belt beyond the splice with its uneven light taken out."""
    left, _, right, _ = window_mm
    sides = (ends.left_upper.at(left), ends.right_upper.at(right))
    bottoms = (ends.left_lower.at(left), ends.right_lower.at(right))
    box = (left + 3.0, min(sides), right - 3.0, max(bottoms))
    raster = rectify(grey, plane, box, _STEP_MM)
    tone = _tone(raster, seam, gaps, ends)
    x = raster.x_mm(np.arange(tone.shape[1], dtype=float))
    y = raster.y_mm(np.arange(tone.shape[0], dtype=float))
    low, high = ends.reach_mm
    beyond = [x < low - _BESIDE_MM, x > high + _BESIDE_MM]
    fields = [field for where in beyond for field in _field(tone, x, y, where)]
    if len(fields) < 2:
        return
    across = _across(tone, raster, seam)
    if abs(across) > np.log1p(_TONE):
        share = 100 * np.expm1(abs(across))
        side = "right" if across > 0 else "left"
        text = f"the {side} end is {share:.0f} % brighter: another belt, or a trace of heat"
        yield Notice(FlagKind.BRIGHTNESS_STEP, text)
    # at the splice a place belongs to whichever end it is more like
    off = np.stack([tone - field for field in fields])
    nearer = np.abs(off[0]) < np.abs(off[1])
    rest = np.where(nearer, off[0], off[1])
    rest[:, beyond[0]], rest[:, beyond[1]] = off[0][:, beyond[0]], off[1][:, beyond[1]]
    spread = 1.4826 * float(np.nanmedian(np.abs(rest[:, beyond[0] | beyond[1]])))
    yield from _spots(rest, max(_SPOT, 5 * spread), ~(beyond[0] | beyond[1]), raster)


def _tone(raster: Raster, seam: Seam, gaps: GapProfile, ends: Ends) -> Array:
    """Logarithm of the belt's smoothed light; NaN off the belt and on the seam."""
    light = np.interp(raster.values, np.arange(256), linear(np.arange(256, dtype=np.uint8)))
    x = raster.x_mm(np.arange(light.shape[1], dtype=float))
    y = raster.y_mm(np.arange(light.shape[0], dtype=float))
    middle = (ends.reach_mm[0] + ends.reach_mm[1]) / 2
    upper = np.where(x < middle, ends.left_upper.along(x), ends.right_upper.along(x))
    lower = np.where(x < middle, ends.left_lower.along(x), ends.right_lower.along(x))
    belt = (y[:, None] > upper + _RIM_MM) & (y[:, None] < lower - _RIM_MM)
    seam_px = np.zeros(light.shape, np.uint8)
    widest = max(point.gap for point in gaps.points)
    thick = max(1, round((2 * _SLOT_MM + widest) / _STEP_MM))
    edges = np.array([upper, lower])
    stubs = [  # what goes on past the last tips, too short to be read
        (tip, (at, float(np.interp(at, x, edge))))
        for tip, at, edge in zip(
            (seam.flanks[0].begin, seam.flanks[-1].end), seam.leaves_mm, edges, strict=True
        )
    ]
    for ends_mm in [*((flank.begin, flank.end) for flank in seam.flanks), *stubs]:
        at_x, at_y = np.array(ends_mm).T
        line = np.column_stack([raster.column(at_x), raster.row(at_y)])
        cv2.polylines(seam_px, [np.round(line).astype(np.int32)], False, 1, thickness=thick)
    for at in [seam.flanks[0].begin, *seam.turns, seam.flanks[-1].end]:
        place = round(float(raster.column(at[0]))), round(float(raster.row(at[1])))
        cv2.circle(seam_px, place, round(2.5 / _STEP_MM), 1, -1)
    use = (belt & (seam_px == 0)).astype(np.float64)
    size = round(_BLUR_MM / _STEP_MM)
    weight = cv2.blur(use, (size, size))
    mean = cv2.blur(light * use, (size, size)) / np.maximum(weight, 1e-6)
    return np.asarray(np.where(belt & (weight > 0.3), np.log(np.maximum(mean, 1e-3)), np.nan))


def _across(tone: Array, raster: Raster, seam: Seam) -> float:
    """Median step in tone from the left end to the right, close to the seam on both sides of it,
    where neither uneven light nor the border of a shadow is taken for one.
    """
    steps = []
    for flank in seam.flanks:
        normal = np.array([flank.along[1], -flank.along[0]])  # to the right end, as y grows along
        for share in (0.3, 0.5, 0.7):
            middle = flank.begin + share * (flank.end - flank.begin)
            beside = np.array([middle + side * _NEAR_MM * normal for side in (1, -1)])
            column = np.round(raster.column(beside[:, 0])).astype(int)
            row = np.round(raster.row(beside[:, 1])).astype(int)
            if min(*column, *row) >= 0 and (row < len(tone)).all() and max(column) < tone.shape[1]:
                right, left = tone[row, column]
                steps.append(right - left)
    known = np.array(steps)[np.isfinite(steps)]
    return float(np.median(known)) if len(known) > 3 else 0.0


def _field(tone: Array, x: Array, y: Array, where: NDArray[np.bool_]) -> Iterator[Array]:
    """Even change of the tone over the belt, (rows, columns), from the columns ``where``; none
    where too little of the belt shows.
    """
    at_x, at_y = np.meshgrid((x - x.mean()) / 50, (y - y.mean()) / 50)
    there = where[None, :] & np.isfinite(tone)
    if there.sum() < 200:
        return
    arms = np.column_stack([np.ones(there.sum()), at_x[there], at_y[there], at_y[there] ** 2])
    values = tone[there]
    kept = np.ones(len(values), bool)
    solution = np.zeros(4)
    for _ in range(3):
        solution = np.linalg.lstsq(arms[kept], values[kept], rcond=None)[0]
        rest = values - arms @ solution
        spread = 1.4826 * float(np.median(np.abs(rest - np.median(rest))))
        kept = np.abs(rest) < max(3 * spread, 0.01)
    # from one side of the belt the change along it is too little known to be drawn on
    solution[1] = np.clip(solution[1], -0.25, 0.25)
    even = solution[0] + solution[1] * at_x + solution[2] * at_y + solution[3] * at_y**2
    yield np.asarray(even)


def _spots(
    rest: Array, limit: float, at_splice: NDArray[np.bool_], raster: Raster
) -> Iterator[Notice]:
    """Spots of one sign that lie at the splice and nowhere else."""
    for sign, words in ((-1, "darker: perhaps burnt"), (1, "brighter: perhaps flash")):
        spots = (np.nan_to_num(sign * rest) > limit).astype(np.uint8)
        # the seam cuts a spot, and a shadow, into pieces
        size = round(_JOINED_MM / _STEP_MM) | 1
        joined = cv2.morphologyEx(spots, cv2.MORPH_CLOSE, np.ones((size, size), np.uint8))
        count, labels, _, centres = cv2.connectedComponentsWithStats(joined, connectivity=8)
        for k in range(1, count):
            mine = (labels == k) & (spots > 0)
            area = mine.sum() * _STEP_MM**2
            if area < _LEAST_SPOT_MM2 or mine[:, at_splice].sum() < _AT_SPLICE * mine.sum():
                continue
            share = 100 * abs(np.expm1(float(np.median(rest[mine]))))
            at = np.array([raster.x_mm(centres[k, 0]), raster.y_mm(centres[k, 1])])
            text = f"a place of {area:.0f} mm² at the splice is {share:.0f} % {words}"
            yield Notice(FlagKind.BRIGHTNESS_STEP, text, at)
