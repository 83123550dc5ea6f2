"""The plane of the belt in the photo: millimetres to pixels and back, with uncertainty.

A flat thing seen by a camera without distortion is mapped by a homography: see Hartley and
Zisserman, Multiple View Geometry, 2nd ed., chapters 4 (estimation) and 5 (covariance). The lens
then bends what the homography says; where it was not calibrated, the card's own corners tell its
two radial terms along with the homography.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.lens import Lens

Array = NDArray[np.float64]

_NO_LENS = Lens((1.0, 1.0), (0.0, 0.0))
_NUDGE_MM = 0.05  # for slopes by differences; a lens bends nothing over so short a way


@dataclass(frozen=True)
class Plane:
    """matrix: (3, 3) from card millimetres to pixels of the straight picture, last element 1.
    covariance: (8, 8) of the first eight elements, or (10, 10) with the lens's k1 and k2
    after them.
    residual_px: rms of the corners, per axis. lens: bends the straight picture to the photo.
    """

    matrix: Array
    covariance: Array
    residual_px: float
    lens: Lens = _NO_LENS

    def to_px(self, mm: Array) -> Array:
        """(n, 2) millimetres to pixels of the photo."""
        return self.lens.bent(apply(self.matrix, mm))

    def to_mm(self, px: Array) -> Array:
        """(n, 2) pixels of the photo to millimetres."""
        return apply(np.asarray(np.linalg.inv(self.matrix), float), self.lens.straight(px))

    def sheared(self, slope: float, pivot_x: float) -> Plane:
        """The same plane in coordinates whose rows run along y = slope (x - pivot_x)."""
        shear = np.array([[1.0, 0, 0], [slope, 1, -slope * pivot_x], [0, 0, 1]])
        return replace(self, matrix=self.matrix @ shear)

    def jacobian(self, mm: Array) -> Array:
        """(2, 2) pixels per millimetre at one point."""
        around = np.array([(_NUDGE_MM, 0), (-_NUDGE_MM, 0), (0, _NUDGE_MM), (0, -_NUDGE_MM)]) + mm
        right, left, down, up = self.to_px(around)
        return np.column_stack([right - left, down - up]) / (2 * _NUDGE_MM)

    def scale_px_per_mm(self, mm: Array) -> float:
        """Geometric mean over directions at one point."""
        return float(abs(float(np.linalg.det(self.jacobian(mm)))) ** 0.5)

    def tilt_deg(self, mm: Array) -> float:
        """How far the camera looks at a point off square."""
        shape = np.linalg.svd(self.jacobian(mm), compute_uv=False)
        return float(np.degrees(np.arccos(min(1.0, shape[1] / shape[0]))))

    def blur_mm(self, mm: Array, normal: Array, sigma_px: float) -> float:
        """What an isotropic blur in pixels is along a direction (unit vector, mm) at a point."""
        across = normal @ np.linalg.inv(self.jacobian(mm))
        return float(sigma_px * np.hypot(*across))

    def u_of(self, quantity: Callable[[Plane], float]) -> float:
        """Standard uncertainty that the corner noise gives to a number computed on this plane.

        First-order propagation by central differences (JCGM 100, 5.1).
        """
        spread: Array = np.sqrt(np.diag(self.covariance))
        slopes: Array = np.zeros(len(spread))
        for i in range(len(spread)):
            h = 0.3 * max(float(spread[i]), 1e-12)
            results = [quantity(self._nudged(i, sign * h)) for sign in (1, -1)]
            slopes[i] = (results[0] - results[1]) / (2 * h)
        variance = float(slopes @ self.covariance @ slopes)
        return math.sqrt(max(variance, 0.0))

    def _nudged(self, i: int, by: float) -> Plane:
        if i >= 8:
            radial = self.lens.radial + by * (np.arange(2) == i - 8)
            return replace(self, lens=self.lens.with_radial(radial))
        moved = self.matrix.ravel().copy()
        moved[i] += by
        return replace(self, matrix=moved.reshape(3, 3))


def apply(matrix: Array, points: Array) -> Array:
    """A homography on (n, 2) points."""
    ends = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(ends[:, :2] / ends[:, 2:])


def from_points(
    mm: Array, px: Array, floor_px: float, lens: Lens = _NO_LENS, radial_u: Array | None = None
) -> Plane:
    """The plane through known points, by least squares of the distances in the photo.

    ``floor_px``: the noise of a corner is taken as no smaller. ``lens``: what is known of it.
    ``radial_u``: standard uncertainties (2,) of its k1 and k2, which are then found from the points
    as well; None leaves the lens as it is. Raises ValueError for points that fix no plane.
    """
    try:
        found, _ = cv2.findHomography(mm, lens.straight(px), method=0)
    except cv2.error as error:
        raise ValueError("the points fix no plane") from error
    if found is None or abs(found[2, 2]) < 1e-12:
        raise ValueError("the points fix no plane")
    matrix = np.asarray(found, float) / found[2, 2]
    before, free = lens.radial, radial_u is not None
    weight = np.zeros(10 if free else 8)
    if radial_u is not None:
        weight[8:] = 1 / radial_u
    pull = np.diag(weight)[8:]
    for _ in range(12):
        residual, slopes, noise = _misfit(matrix, lens, mm, px, free, floor_px)
        if free:
            slopes = np.concatenate([slopes / noise, pull])
            residual = np.concatenate([residual / noise, weight[8:] * (before - lens.radial)])
        step = np.linalg.lstsq(slopes, residual, rcond=None)[0]
        matrix = (matrix.ravel() + np.append(step[:8], 0.0)).reshape(3, 3)
        lens = lens.with_radial(lens.radial + step[8:]) if free else lens
    residual, slopes, noise = _misfit(matrix, lens, mm, px, free, floor_px)
    normal = slopes.T @ slopes / noise**2 + np.diag(weight**2)
    covariance = np.asarray(np.linalg.pinv(normal, rcond=1e-18, hermitian=True), float)
    return Plane(matrix, covariance, float(np.sqrt(np.mean(residual**2))), lens)


def _misfit(
    matrix: Array, lens: Lens, mm: Array, px: Array, with_radial: bool, floor_px: float
) -> tuple[Array, Array, float]:
    """Residuals (2n,), derivatives (2n, 8 or 10) of matrix and lens, and the noise of a corner."""
    x, y = mm.T
    w = matrix[2, 0] * x + matrix[2, 1] * y + matrix[2, 2]
    seen = apply(matrix, mm)
    one, nil = np.ones_like(x), np.zeros_like(x)
    rows_u = np.column_stack([x, y, one, nil, nil, nil, -seen[:, 0] * x, -seen[:, 0] * y])
    rows_v = np.column_stack([nil, nil, nil, x, y, one, -seen[:, 1] * x, -seen[:, 1] * y])
    rows = np.stack([rows_u, rows_v], axis=1) / w[:, None, None]  # (n, 2, 8)
    right, down = lens.slopes(seen)
    slopes = np.einsum("nij,njk->nik", np.stack([right, down], axis=2), rows)
    if with_radial:
        slopes = np.concatenate([slopes, lens.by_radial(seen)], axis=2)
    residual = (px - lens.bent(seen)).ravel()
    noise = float(np.sqrt(residual @ residual / max(len(residual) - slopes.shape[2], 1)))
    return residual, slopes.reshape(len(residual), -1), max(noise, floor_px)


def raised(plane: Plane, height_mm: float, focal_px: float, centre_px: Array) -> Plane:
    """The parallel plane ``height_mm`` nearer to the camera.

    The pose follows from the homography and the focal length (Zhang, IEEE TPAMI 22 (2000) 1330).
    """
    camera, pose, towards = _pose(plane, focal_px, centre_px)
    pose[:, 2] += towards * height_mm
    matrix = camera @ pose
    matrix /= matrix[2, 2]
    return replace(plane, matrix=matrix)


def eye_mm(plane: Plane, focal_px: float, centre_px: Array) -> Array:
    """(3,) where the camera is: x and y on the plane, and its height above it."""
    _, pose, towards = _pose(plane, focal_px, centre_px)
    x, y, height = np.linalg.solve(np.column_stack([pose[:, 0], pose[:, 1], towards]), -pose[:, 2])
    return np.array([x, y, height])


def focal_of(plane: Plane, centre_px: Array) -> float | None:
    """Focal length in pixels by the perspective of the plane; None where it looks square on.

    Two directions that are square to each other and equally long on the plane are so before the
    camera too (Zhang, as above): two equations for the square of the focal length.
    """
    shift = np.array([[1, 0, -centre_px[0]], [0, 1, -centre_px[1]], [0, 0, 1.0]])
    one, other = (shift @ plane.matrix)[:, :2].T
    # flat + steep / f² = 0 for each of the two
    steep = np.array([one[:2] @ other[:2], one[:2] @ one[:2] - other[:2] @ other[:2]])
    flat = np.array([one[2] * other[2], one[2] ** 2 - other[2] ** 2])
    scale = float(np.hypot(*steep))
    if scale < 1e-12 or not np.any(flat):
        return None
    square = -float(steep @ flat) / float(flat @ flat)
    return math.sqrt(square) if square > 0 else None


def _pose(plane: Plane, focal_px: float, centre_px: Array) -> tuple[Array, Array, Array]:
    """Camera matrix; (3, 3) the plane's two axes and its origin as the camera has them, in mm; and
    (3,) the plane's normal towards the camera.
    """
    camera = np.array([[focal_px, 0, centre_px[0]], [0, focal_px, centre_px[1]], [0, 0, 1.0]])
    pose = np.linalg.inv(camera) @ plane.matrix
    pose = pose / np.sqrt(np.linalg.norm(pose[:, 0]) * np.linalg.norm(pose[:, 1]))
    up = np.cross(pose[:, 0], pose[:, 1])
    up /= np.linalg.norm(up)
    return camera, pose, -up if pose[2, 2] * up[2] > 0 else up


def distance_mm(plane: Plane, at_mm: Array, focal_px: float) -> float:
    """Rough distance from the camera to a point of the plane."""
    return focal_px / plane.scale_px_per_mm(at_mm)
