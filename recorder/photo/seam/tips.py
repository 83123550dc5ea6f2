"""How far the slot stands open at the tips of the fingers, along the belt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.plane import Plane
from recorder.photo.image.light import linear
from recorder.photo.seam.flanks import Flank
from recorder.photo.seam.seam import Seam

Array = NDArray[np.float64]

_REACH_MM = 5.0  # along the belt, to both sides of a tip
_STEP_MM = 0.1
_LEAST_FLAT_MM = 0.4  # of a tip beyond the gap of its flanks; a pointed one has no slot of its own
_SHADE = 0.15  # share of the light that is missing, from where it counts as the slot
_UNEVEN = 0.2  # of the light beside a tip
_INNER = 0.5  # share of the flat, away from its corners


@dataclass(frozen=True)
class Tip:
    """at: (2,) mm on the middle of the slot. number: from the upper edge, from 0, between flanks
    ``number`` and ``number`` + 1. gap: along the belt, mm, of the light that is missing there.
    """

    at: Array
    number: int
    gap: float


def open_tips(
    grey: NDArray[np.uint8], plane: Plane, seam: Seam, contrast: float, usual_mm: float
) -> list[Tip]:
    """Every flat tip with its gap, by the light that is missing across it.

    contrast: share of the light that an open slot takes away. usual_mm: gap of the flanks, whose
    slots run together beside a tip that is not broader than they are.
    """
    made = []
    for number, (at, one, other) in enumerate(
        zip(seam.turns, seam.flanks[:-1], seam.flanks[1:], strict=True)
    ):
        flat = abs(float(one.end[1] - other.begin[1]))
        if flat < _LEAST_FLAT_MM + usual_mm:
            continue
        profile = _profile(grey, plane, one, other, flat)
        missing = None if profile is None else _missing(profile)
        if missing is not None:
            made.append(Tip(at, number, missing / max(contrast, 0.2)))
    return made


def _profile(
    grey: NDArray[np.uint8], plane: Plane, one: Flank, other: Flank, flat: float
) -> Array | None:
    """Light along the belt across a tip, averaged over the inner part of its flat."""
    middle = (one.end + other.begin) / 2
    x = middle[0] + np.arange(-_REACH_MM, _REACH_MM + _STEP_MM / 2, _STEP_MM)
    y = middle[1] + np.linspace(-0.5, 0.5, max(3, round(flat / _STEP_MM / 2))) * _INNER * flat
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    column, row = np.round(plane.to_px(places)).astype(int).T
    inside = (column >= 0) & (row >= 0) & (column < grey.shape[1]) & (row < grey.shape[0])
    if not inside.all():
        return None
    return np.asarray(linear(grey[row, column]).reshape(len(y), len(x)).mean(axis=0), float)


def _missing(light: Array) -> float | None:
    """Millimetres of full shade about the middle, where the light falls below that of the belt on
    the same side; None where that is too uneven to say, as in the border of a shadow.
    """
    count, half = len(light), len(light) // 2
    near = np.abs(np.arange(count) - half) < half // 2
    darkest = int(np.argmin(np.where(near, light, np.inf)))
    sides = light[: half // 2], light[-(half // 2) :]
    if any(
        float(np.ptp(np.percentile(side, (10, 90)))) > _UNEVEN * np.median(side) for side in sides
    ):
        return None
    bank = np.where(np.arange(count) < darkest, np.median(sides[0]), np.median(sides[1]))
    share = np.clip(1 - light / np.maximum(bank, 1e-3), 0, 1)
    dark = share > _SHADE
    low = high = darkest
    while low > 0 and dark[low - 1]:
        low -= 1
    while high < count - 1 and dark[high + 1]:
        high += 1
    return float(share[max(low - 2, 0) : high + 3].sum() * _STEP_MM)
