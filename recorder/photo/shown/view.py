"""The belt drawn square on for people to look at; nothing is measured in it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.plane import Plane

Array = NDArray[np.float64]
Pixels = NDArray[np.uint8]

_MESH = 16
_SOFTEN = 0.45  # sigma of the blur before a picture is made smaller, in pixels of the result


@dataclass(frozen=True)
class View:
    """rgb: (rows, columns, 3). origin: mm of the first pixel. per_mm: pixels."""

    rgb: Pixels
    origin: Array
    per_mm: float

    def px(self, mm: Array) -> Array:
        """(n, 2) or (2,) millimetres of the belt to pixels of this view."""
        return np.asarray((np.asarray(mm, float) - self.origin) * self.per_mm)


def square_on(
    bgr: Pixels, plane: Plane, box_mm: tuple[float, float, float, float], per_mm: float
) -> View:
    """The part of a photo between left, top, right and bottom; off the photo its rim is repeated.

    Stays in 8 bits, so that it needs little more memory than the part itself.
    """
    left, top, right, bottom = box_mm
    columns, rows = round((right - left) * per_mm), round((bottom - top) * per_mm)
    mesh = _mesh(plane, (left, top), per_mm, (rows, columns))
    x0, y0 = np.maximum(np.floor(mesh.min(axis=(0, 1))).astype(int) - 8, 0)
    x1, y1 = np.ceil(mesh.max(axis=(0, 1))).astype(int) + 9
    part = bgr[y0:y1, x0:x1]
    centre = np.array([(left + right) / 2, (top + bottom) / 2])
    shrink = plane.scale_px_per_mm(centre) / per_mm
    if shrink > 1:
        part = np.asarray(cv2.GaussianBlur(part, (0, 0), _SOFTEN * shrink), np.uint8)
    way = cv2.INTER_LINEAR if shrink > 0.8 else cv2.INTER_CUBIC
    # OpenCV 5.0.0 leaves black specks when both coordinates come in one map
    x, y = cv2.split(_between(mesh - np.array([x0, y0]), (rows, columns)))
    seen = cv2.remap(part, x, y, way, borderMode=cv2.BORDER_REPLICATE)
    rgb = cv2.cvtColor(seen, cv2.COLOR_BGR2RGB)
    return View(np.asarray(rgb, np.uint8), np.array([left, top]), per_mm)


def _mesh(
    plane: Plane, corner_mm: tuple[float, float], per_mm: float, shape: tuple[int, int]
) -> Array:
    """(rows, columns, 2) pixels of the photo for every sixteenth pixel of the view."""
    rows, columns = (count // _MESH + 2 for count in shape)
    y, x = np.mgrid[0:rows, 0:columns] * (_MESH / per_mm)
    places = plane.to_px(np.column_stack([x.ravel(), y.ravel()]) + corner_mm)
    return places.reshape(rows, columns, 2)


def _between(mesh: Array, shape: tuple[int, int]) -> NDArray[np.float32]:
    """The mesh for every pixel of the view, linear in between."""
    fine = cv2.warpAffine(
        mesh.astype(np.float32),
        np.array([[_MESH, 0, 0], [0, _MESH, 0]], float),
        (shape[1], shape[0]),
        flags=cv2.INTER_LINEAR,
    )
    return np.asarray(fine, np.float32)
