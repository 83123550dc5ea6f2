"""A part of the plane seen square on, at a chosen step; to find things, never to measure them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.plane import Plane

Array = NDArray[np.float64]


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
    part = np.ascontiguousarray(photo[y0:y1, x0:x1]).astype(np.float32)
    shrink = step * plane.scale_px_per_mm(np.array([(left + right) / 2, (top + bottom) / 2]))
    if shrink > 1:
        part = np.asarray(cv2.GaussianBlur(part, (0, 0), 0.45 * shrink), np.float32)
    place = np.array([[step, 0, left], [0, step, top], [0, 0, 1.0]])
    move = np.array([[1.0, 0, -x0], [0, 1, -y0], [0, 0, 1]]) @ plane.matrix @ place
    values = cv2.warpPerspective(
        part,
        move,
        (columns, rows),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return Raster(np.asarray(values, np.float32), left, top, step)
