"""Raw pixels around a piece of a line on the belt, each with its place in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.plane import Plane

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Window:
    """A rectangle on the plane: centre (mm), unit vector along the line, half length, half width.

    The normal is the direction turned by +90° in card coordinates (x right, y down).
    """

    centre: Array
    along: Array
    half_length: float
    half_width: float

    @property
    def normal(self) -> Array:
        return np.array([-self.along[1], self.along[0]])

    def corners(self) -> Array:
        a, n = self.along * self.half_length, self.normal * self.half_width
        return np.array([-a - n, a - n, a + n, n - a]) + self.centre


def pixels(plane: Plane, window: Window, shape: tuple[int, ...]) -> tuple[Array, Array, Array]:
    """Places of the pixels whose centres lie in the window: along (mm), across (mm), indices (n, 2)
    as row and column. Empty when the window leaves the picture.
    """
    outline = plane.to_px(window.corners())
    left, top = np.floor(outline.min(axis=0)).astype(int)
    right, bottom = np.ceil(outline.max(axis=0)).astype(int) + 1
    if left < 0 or top < 0 or right > shape[1] or bottom > shape[0]:
        empty = np.empty(0)
        return empty, empty, np.empty((0, 2))
    rows, columns = np.mgrid[top:bottom, left:right]
    px = np.column_stack([columns.ravel(), rows.ravel()]).astype(float)
    offset = plane.to_mm(px) - window.centre
    along, across = offset @ window.along, offset @ window.normal
    inside = (np.abs(along) <= window.half_length) & (np.abs(across) <= window.half_width)
    return along[inside], across[inside], px[inside][:, ::-1]
