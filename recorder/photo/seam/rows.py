"""The belt as rows along it, on which a seam is looked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.lines import Line
from recorder.photo.geometry.plane import Plane
from recorder.photo.geometry.rectified import Raster, rectify
from recorder.photo.image.light import linear
from recorder.photo.image.refusal import Refusal

Array = NDArray[np.float64]

_STEP_MM = 0.25
_MOST_VALUES = 220_000  # of the raster; a larger window is seen with a larger step
_RIM_MM = 0.5  # of the belt that is left out beside each edge
_CLEAR_MM = 3.0  # of the card's cross bars, which throw shadows
_LEAST_ROWS = 20


@dataclass(frozen=True)
class Rows:
    """The belt as rows along it. slope, pivot: of the rows in the card's millimetres."""

    raster: Raster
    inside: NDArray[np.bool_]
    slope: float
    pivot: float

    def straight(self, along: Array) -> Array:
        """(n, 2) millimetres of the rows to those of the card."""
        lean = self.slope * (along[:, 0] - self.pivot)
        return np.column_stack([along[:, 0], along[:, 1] + lean])

    def row(self, x: Array, y: Array) -> Array:
        """Rows of points in millimetres of the card."""
        return self.raster.row(y - self.slope * (x - self.pivot))


def rows_of(
    grey: NDArray[np.uint8],
    plane: Plane,
    window_mm: tuple[float, float, float, float],
    upper: Line,
    lower: Line,
) -> Rows:
    """Rows along the belt and not along the card, so that the first and last finger are whole."""
    left, _, right, _ = window_mm
    slope, pivot = (upper.slope + lower.slope) / 2, (left + right) / 2
    ends = np.array([left, right])
    tilt = slope * (ends - pivot)
    top = float(np.min(upper.along(ends) - tilt))
    bottom = float(np.max(lower.along(ends) - tilt))
    box = (left + _CLEAR_MM, top, right - _CLEAR_MM, bottom)
    step = max(_STEP_MM, float(np.sqrt((box[2] - box[0]) * (bottom - top) / _MOST_VALUES)))
    raster = rectify(grey, plane.sheared(slope, pivot), box, step)
    x = raster.x_mm(np.arange(raster.values.shape[1], dtype=float))
    y = raster.y_mm(np.arange(raster.values.shape[0], dtype=float))
    lean = slope * (x - pivot)
    inside = (y[:, None] > (upper.along(x) - lean)[None, :] + _RIM_MM) & (
        y[:, None] < (lower.along(x) - lean)[None, :] - _RIM_MM
    )
    shows = np.flatnonzero(inside.mean(axis=1) > 0.5)
    if len(shows) < _LEAST_ROWS:
        raise Refusal("the belt lies too far askew under the card; turn the card along the belt")
    first, last = shows[0], shows[-1] + 1
    raster = Raster(raster.values[first:last], raster.left, float(y[first]), step)
    return Rows(raster, inside[first:last], slope, pivot)


def light_of(codes: NDArray[np.float32]) -> NDArray[np.float32]:
    table = linear(np.arange(256, dtype=np.uint8))
    return np.asarray(np.interp(codes, np.arange(256), table), np.float32)
