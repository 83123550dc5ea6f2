"""What is known of the camera before its photo is looked at: focal length and lens."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from recorder.photo.conditions import Conditions
from recorder.photo.lens import Lens, of_camera
from recorder.photo.picture import Picture

# Focal length of a camera that does not say: a phone's main lens, common practice, no source.
_USUAL_35MM = 27.0
_FRAME_MM = 36.0
_U_CALIBRATED, _U_SAID, _U_USUAL = 0.01, 0.05, 0.20
# k1 and k2 of a lens that nobody calibrated, as wide as to let the card tell them.
_RADIAL_U = (0.3, 0.1)


@dataclass(frozen=True)
class Optics:
    """lens: as far as known. radial_u: standard uncertainties (2,) of its k1 and k2, None when it
    was calibrated. focal_u: relative standard uncertainty of the focal length.
    """

    lens: Lens
    radial_u: NDArray[np.float64] | None
    focal_u: float

    @property
    def focal_px(self) -> float:
        return sum(self.lens.focal_px) / 2


def optics_of(photo: Picture, conditions: Conditions) -> Optics:
    """The calibrated camera; else by EXIF where the camera writes it, else a usual phone."""
    height, width = photo.bgr.shape[:2]
    if conditions.camera is not None:
        return Optics(of_camera(conditions.camera, (width, height)), None, _U_CALIBRATED)
    focal_35mm = photo.focal_35mm or _USUAL_35MM
    focal = focal_35mm / _FRAME_MM * max(width, height)
    middle = ((width - 1) / 2, (height - 1) / 2)
    lens = Lens((focal, focal), middle, said="found from the card in the photo")
    return Optics(lens, np.array(_RADIAL_U), _U_SAID if photo.focal_35mm else _U_USUAL)
