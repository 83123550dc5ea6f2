"""The plane of the belt in the photo: millimetres to pixels and back, with uncertainty.

A flat thing seen by a camera without distortion is mapped by a homography: see Hartley and
Zisserman, Multiple View Geometry, 2nd ed., chapters 4 (estimation) and 5 (covariance).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Plane:
    """matrix: (3, 3) from card millimetres to pixels, last element 1.
    covariance: (8, 8) of the first eight elements. residual_px: rms of the corners, per axis.
    """

    matrix: Array
    covariance: Array
    residual_px: float

    def to_px(self, mm: Array) -> Array:
        """(n, 2) millimetres to pixels."""
        return apply(self.matrix, mm)

    def to_mm(self, px: Array) -> Array:
        """(n, 2) pixels to millimetres."""
        return apply(np.asarray(np.linalg.inv(self.matrix), float), px)

    def sheared(self, slope: float, pivot_x: float) -> Plane:
        """The same plane in coordinates whose rows run along y = slope (x - pivot_x)."""
        shear = np.array([[1.0, 0, 0], [slope, 1, -slope * pivot_x], [0, 0, 1]])
        return Plane(self.matrix @ shear, self.covariance, self.residual_px)

    def jacobian(self, mm: Array) -> Array:
        """(2, 2) pixels per millimetre at one point."""
        x, y, w = self.matrix @ (mm[0], mm[1], 1.0)
        h = self.matrix
        return np.array(
            [
                [h[0, 0] - x / w * h[2, 0], h[0, 1] - x / w * h[2, 1]],
                [h[1, 0] - y / w * h[2, 0], h[1, 1] - y / w * h[2, 1]],
            ]
        ) / float(w)

    def scale_px_per_mm(self, mm: Array) -> float:
        """Geometric mean over directions at one point."""
        return float(abs(float(np.linalg.det(self.jacobian(mm)))) ** 0.5)

    def blur_mm(self, mm: Array, normal: Array, sigma_px: float) -> float:
        """What an isotropic blur in pixels is along a direction (unit vector, mm) at a point."""
        across = normal @ np.linalg.inv(self.jacobian(mm))
        return float(sigma_px * np.hypot(*across))

    def u_of(self, quantity: Callable[[Plane], float]) -> float:
        """Standard uncertainty that the corner noise gives to a number computed on this plane.

        First-order propagation by central differences (JCGM 100, 5.1).
        """
        spread: Array = np.sqrt(np.diag(self.covariance))
        slopes: Array = np.zeros(8)
        for i in range(8):
            h = 0.3 * max(float(spread[i]), 1e-12)
            results = []
            for sign in (1, -1):
                moved = self.matrix.ravel().copy()
                moved[i] += sign * h
                results.append(quantity(Plane(moved.reshape(3, 3), self.covariance, 0.0)))
            slopes[i] = (results[0] - results[1]) / (2 * h)
        variance = float(slopes @ self.covariance @ slopes)
        return math.sqrt(max(variance, 0.0))


def apply(matrix: Array, points: Array) -> Array:
    """A homography on (n, 2) points."""
    ends = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(ends[:, :2] / ends[:, 2:])


def from_points(mm: Array, px: Array, floor_px: float) -> Plane:
    """The plane through known points, by least squares of the distances in the picture.

    ``floor_px``: the noise of a corner is taken as no smaller. Raises ValueError for points that
    fix no plane.
    """
    try:
        found, _ = cv2.findHomography(mm, px, method=0)
    except cv2.error as error:
        raise ValueError("the points fix no plane") from error
    if found is None or abs(found[2, 2]) < 1e-12:
        raise ValueError("the points fix no plane")
    matrix = np.asarray(found, float) / found[2, 2]
    for _ in range(10):
        residual, slopes = _misfit(matrix, mm, px)
        step = np.linalg.lstsq(slopes, residual, rcond=None)[0]
        matrix = (matrix.ravel() + np.append(step, 0.0)).reshape(3, 3)
    residual, slopes = _misfit(matrix, mm, px)
    free = max(len(residual) - 8, 1)
    noise = max(float(np.sqrt(residual @ residual / free)), floor_px)
    covariance = np.asarray(
        noise**2 * np.linalg.pinv(slopes.T @ slopes, rcond=1e-18, hermitian=True), float
    )
    return Plane(matrix, covariance, float(np.sqrt(np.mean(residual**2))))


def _misfit(matrix: Array, mm: Array, px: Array) -> tuple[Array, Array]:
    """Residuals (2n,) and derivatives (2n, 8) of the first eight elements."""
    x, y = mm.T
    w = matrix[2, 0] * x + matrix[2, 1] * y + matrix[2, 2]
    seen = apply(matrix, mm)
    one, nil = np.ones_like(x), np.zeros_like(x)
    rows_u = np.column_stack([x, y, one, nil, nil, nil, -seen[:, 0] * x, -seen[:, 0] * y])
    rows_v = np.column_stack([nil, nil, nil, x, y, one, -seen[:, 1] * x, -seen[:, 1] * y])
    slopes = np.concatenate([rows_u / w[:, None], rows_v / w[:, None]])
    return (px - seen).T.ravel(), slopes


def raised(plane: Plane, height_mm: float, focal_px: float, centre_px: Array) -> Plane:
    """The parallel plane ``height_mm`` nearer to the camera.

    The pose follows from the homography and the focal length (Zhang, IEEE TPAMI 22 (2000) 1330).
    """
    camera = np.array([[focal_px, 0, centre_px[0]], [0, focal_px, centre_px[1]], [0, 0, 1.0]])
    pose = np.linalg.inv(camera) @ plane.matrix
    size = np.sqrt(np.linalg.norm(pose[:, 0]) * np.linalg.norm(pose[:, 1]))
    pose = pose / size
    up = np.cross(pose[:, 0], pose[:, 1])
    up /= np.linalg.norm(up)
    towards = -up if pose[2, 2] * up[2] > 0 else up
    pose[:, 2] += towards * height_mm
    matrix = camera @ pose
    matrix /= matrix[2, 2]
    return Plane(matrix, plane.covariance, plane.residual_px)


def distance_mm(plane: Plane, at_mm: Array, focal_px: float) -> float:
    """Rough distance from the camera to a point of the plane."""
    return focal_px / plane.scale_px_per_mm(at_mm)
