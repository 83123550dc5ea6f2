"""The lens: where a straight picture's points come to lie in the photo, and back.

The model is that of Brown (Photogrammetric Engineering 37 (1971) 855) as OpenCV numbers it: three
radial and two tangential terms about the principal point.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from recorder.model.camera import Camera

Array = NDArray[np.float64]

_STEPS = 12
_SAME_PX = 0.05


@dataclass(frozen=True)
class Lens:
    """focal_px: in x and y. centre_px: principal point. distortion: k1, k2, p1, p2, k3.
    said: where it comes from, in words.
    """

    focal_px: tuple[float, float]
    centre_px: tuple[float, float]
    distortion: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)
    said: str = "not calibrated"

    def bent(self, px: Array) -> Array:
        """(n, 2) points of the straight picture, to where the photo has them."""
        if not any(self.distortion):
            return px
        return self._moved((px - self.centre_px) / self.focal_px) * self.focal_px + self.centre_px

    def straight(self, px: Array) -> Array:
        """(n, 2) points of the photo, to where a lens without distortion would have them."""
        if not any(self.distortion):
            return px
        seen = (px - self.centre_px) / self.focal_px
        ray = seen.copy()
        for _ in range(_STEPS):
            ray = ray + (seen - self._moved(ray))
        return np.asarray(ray * self.focal_px + self.centre_px)

    def reaches(self, px: Array) -> bool:
        """Whether points of the photo can be straightened: a lens that folds the picture over
        itself, as a wrong number in a file gives, has no answer.
        """
        with np.errstate(all="ignore"):
            back = self.bent(self.straight(px))
        return bool(np.all(np.abs(back - px) < _SAME_PX))

    @property
    def radial(self) -> Array:
        """(2,) k1 and k2."""
        return np.array(self.distortion[:2])

    def with_radial(self, radial: Array) -> Lens:
        """The same lens with another k1 and k2."""
        k1, k2 = (float(k) for k in radial)
        return replace(self, distortion=(k1, k2, *self.distortion[2:]))

    def by_radial(self, px: Array) -> Array:
        """(n, 2, 2) how far points of the straight picture move, in x and y, for a change of 1 in
        k1 and in k2.
        """
        ray = (px - self.centre_px) / self.focal_px
        r2 = (ray**2).sum(axis=1, keepdims=True)
        return np.stack([ray * r2 * self.focal_px, ray * r2**2 * self.focal_px], axis=2)

    def slopes(self, px: Array) -> tuple[Array, Array]:
        """Change of ``bent`` (n, 2) for a pixel to the right, and for one down."""
        step = 0.5
        right, down = np.array([step, 0.0]), np.array([0.0, step])
        return (
            (self.bent(px + right) - self.bent(px - right)) / (2 * step),
            (self.bent(px + down) - self.bent(px - down)) / (2 * step),
        )

    def _moved(self, ray: Array) -> Array:
        k1, k2, p1, p2, k3 = self.distortion
        x, y = ray[:, 0], ray[:, 1]
        r2 = x * x + y * y
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        return np.column_stack(
            [
                x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
                y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y,
            ]
        )


# EXIF 3.0, 4.6.5.1.6 (Orientation): where a step to the right and one down in the stored picture
# lead in the upright one, as the columns of a matrix.
_TURNS: dict[int, Array] = {
    1: np.array([[1.0, 0], [0, 1]]),
    2: np.array([[-1.0, 0], [0, 1]]),
    3: np.array([[-1.0, 0], [0, -1]]),
    4: np.array([[1.0, 0], [0, -1]]),
    5: np.array([[0.0, 1], [1, 0]]),
    6: np.array([[0.0, -1], [1, 0]]),
    7: np.array([[0.0, -1], [-1, 0]]),
    8: np.array([[0.0, 1], [-1, 0]]),
}


def of_camera(camera: Camera, size_px: tuple[int, int], orientation: int) -> Lens:
    """The lens of a calibrated camera in an upright photo of ``size_px`` (width, height).

    orientation: by EXIF, 1 to 8, how the stored picture was turned. A picture of another size is
    taken to be the whole of it, made smaller or larger.
    """
    turn = _TURNS[orientation]
    scale = max(size_px) / max(camera.size_px)
    off = np.array(camera.centre_px) - (np.array(camera.size_px) - 1) / 2
    centre = turn @ off * scale + (np.array(size_px) - 1) / 2
    focal = np.abs(turn) @ np.array(camera.focal_px) * scale
    k1, k2, p1, p2, k3 = camera.distortion
    p2, p1 = turn @ (p2, p1)  # the tangential terms are a vector, x first
    return Lens(
        (float(focal[0]), float(focal[1])),
        (float(centre[0]), float(centre[1])),
        (k1, k2, float(p1), float(p2), k3),
        f"calibrated as {camera.name}",
    )


def turned_back(px: Array, size_px: tuple[int, int], orientation: int) -> Array:
    """(n, 2) points of an upright picture of ``size_px``, to where the stored picture has them."""
    width, height = size_px if orientation < 5 else size_px[::-1]
    middle = (np.array(size_px) - 1) / 2
    back = (px - middle) @ _TURNS[orientation]  # a turn's inverse is its transpose
    return np.asarray(back + (np.array([width, height]) - 1) / 2)
