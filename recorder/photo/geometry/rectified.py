"""A part of the plane seen square on, at a chosen step; to find things, never to measure them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.plane import Plane

Array = NDArray[np.float64]

_MESH = 8


@dataclass(frozen=True)
class Raster:
    """values: (rows, columns) or (rows, columns, 3), as in the photo. left, top: mm of the first
    value. step: mm between values.
    """

    values: NDArray[np.float32]
    left: float
    top: float
    step: float

    def x_mm(self, column: Array) -> Array:
        return self.left + column * self.step

    def y_mm(self, row: Array) -> Array:
        return self.top + row * self.step

    def column(self, x_mm: Array) -> Array:
        return (x_mm - self.left) / self.step

    def row(self, y_mm: Array) -> Array:
        return (y_mm - self.top) / self.step


def rectify(
    photo: NDArray[np.uint8] | NDArray[np.float32],
    plane: Plane,
    box_mm: tuple[float, float, float, float],
    step: float,
) -> Raster:
    """The part between left, top, right, bottom (mm); what lies off the photo repeats its rim."""
    left, top, right, bottom = box_mm
    columns, rows = int((right - left) / step) + 1, int((bottom - top) / step) + 1
    corners = plane.to_px(np.array([(left, top), (right, top), (right, bottom), (left, bottom)]))
    x0, y0 = np.maximum(np.floor(corners.min(0)).astype(int) - 8, 0)
    x1, y1 = np.ceil(corners.max(0)).astype(int) + 9
    # of either kind, which the checker cannot follow through an index
    part = cast("NDArray[np.float32]", np.ascontiguousarray(photo[y0:y1, x0:x1]))
    shrink = step * plane.scale_px_per_mm(np.array([(left + right) / 2, (top + bottom) / 2]))
    fewer = max(int(shrink), 1)  # so many pixels are averaged to one, each way
    if fewer > 1:
        whole = part[: len(part) // fewer * fewer, : part.shape[1] // fewer * fewer]
        size = (whole.shape[1] // fewer, whole.shape[0] // fewer)
        small = cv2.resize(whole, size, interpolation=cv2.INTER_AREA)
        part = cast("NDArray[np.float32]", small)
    places = _places(plane, (left, top), step, (rows, columns)) - np.array([x0, y0])
    places = (places - (fewer - 1) / 2) / fewer
    values = cv2.remap(
        part.astype(np.float32),
        places[..., 0].astype(np.float32),
        places[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return Raster(np.asarray(values, np.float32), left, top, step)


def _places(
    plane: Plane, corner_mm: tuple[float, float], step: float, shape: tuple[int, int]
) -> Array:
    """(rows, columns, 2) pixels of the photo; exact at every eighth place, linear in between."""
    rows, columns = (count // _MESH + 2 for count in shape)
    y, x = np.mgrid[0:rows, 0:columns] * (step * _MESH)
    mesh = plane.to_px(np.column_stack([x.ravel(), y.ravel()]) + corner_mm)
    fine = cv2.warpAffine(
        mesh.reshape(rows, columns, 2),
        np.array([[_MESH, 0, 0], [0, _MESH, 0]], float),
        (shape[1], shape[0]),
        flags=cv2.INTER_LINEAR,
    )
    return np.asarray(fine, float)
