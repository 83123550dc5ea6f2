"""A pinhole with a lens: world points to picture, and picture to the points of a surface.

World: millimetres, x along the belt, y across it (down in the card's art), height above the bench.
Picture: pixels, pixel (i, j) spans i..i+1.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]


@dataclass(frozen=True)
class Camera:
    """width, height: pixels. focal_px; k1, k2: radial, on distances in focal lengths.
    centre: of the lens from the picture's middle, px. distance_mm: to the aim, a point of the
    bench. tilt_deg: off the vertical, towards tilt_towards_deg; roll_deg: about the view.
    """

    width: int
    height: int
    focal_px: float
    distance_mm: float
    tilt_deg: float = 0.0
    tilt_towards_deg: float = 0.0
    roll_deg: float = 0.0
    aim: tuple[float, float] = (0.0, 0.0)
    k1: float = 0.0
    k2: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)

    def rotation(self) -> Points:
        tilt, towards, roll = np.radians([self.tilt_deg, self.tilt_towards_deg, self.roll_deg])
        axis = _about_z(towards) @ _about_x(tilt) @ _about_z(-towards)
        return _about_z(roll) @ axis

    def project(self, points: Points) -> Points:
        """(N, 3) of x, y, height to (N, 2) pixels."""
        x = np.asarray(points, float) - [self.aim[0], self.aim[1], 0.0]
        seen = (x * [1, 1, -1]) @ self.rotation().T + [0, 0, self.distance_mm]
        flat = seen[:, :2] / seen[:, 2:]
        r2 = np.sum(flat**2, axis=1, keepdims=True)
        bent = flat * (1 + self.k1 * r2 + self.k2 * r2**2)
        return bent * self.focal_px + self._middle()

    def on_height(self, pixels: Points, height: float | Callable[[Points], Points]) -> Points:
        """(..., 2) pixels to (..., 2) x, y where the rays meet that height or height(x, y)."""
        bent = (pixels - self._middle()) / self.focal_px
        flat = bent.copy()
        for _ in range(12):
            r2 = np.sum(flat**2, axis=-1, keepdims=True)
            flat = bent / (1 + self.k1 * r2 + self.k2 * r2**2)
        rotation = self.rotation()
        ray = np.concatenate([flat, np.ones_like(flat[..., :1])], axis=-1) @ rotation
        eye = -np.array([0, 0, self.distance_mm]) @ rotation

        def at(level: float | Points) -> Points:
            along = (-np.asarray(level) - eye[2]) / ray[..., 2]
            return eye[:2] + along[..., None] * ray[..., :2] + np.asarray(self.aim)

        if not callable(height):
            return at(height)
        found = at(0.0)
        for _ in range(4):
            found = at(height(found))
        return found

    def eye(self) -> Points:
        """Where the camera stands: x, y, height."""
        stands = -np.array([0, 0, self.distance_mm]) @ self.rotation()
        return np.array([stands[0] + self.aim[0], stands[1] + self.aim[1], -stands[2]])

    def scale_at(self, x: float, y: float, height: float) -> float:
        """Pixels per millimetre of the surface around a point (root of the area's)."""
        at = np.array([[x, y, height], [x + 0.5, y, height], [x, y + 0.5, height]])
        seen = self.project(at)
        return float(np.sqrt(abs(np.linalg.det((seen[1:] - seen[0]) / 0.5))))

    def _middle(self) -> Points:
        return np.array([self.width / 2 + self.centre[0], self.height / 2 + self.centre[1]])


def _about_x(angle: float) -> Points:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[1, 0, 0], [0, c, -s], [0, s, c]])


def _about_z(angle: float) -> Points:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
