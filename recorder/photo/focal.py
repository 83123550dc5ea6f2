"""Focal length of the camera that took a photo, as far as the photo tells."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.photo.picture import Picture

# Focal length of a camera that does not say: a phone's main lens, common practice, no source.
_USUAL_35MM = 27.0
_FRAME_MM = 36.0
_U_SAID, _U_USUAL = 0.05, 0.20


@dataclass(frozen=True)
class Focal:
    """px: focal length in pixels. relative_u: its relative standard uncertainty."""

    px: float
    relative_u: float


def focal_of(photo: Picture) -> Focal:
    """By EXIF where the camera writes it, else that of a usual phone with a wide uncertainty."""
    longer = max(photo.bgr.shape[:2])
    if photo.focal_35mm:
        return Focal(photo.focal_35mm / _FRAME_MM * longer, _U_SAID)
    return Focal(_USUAL_35MM / _FRAME_MM * longer, _U_USUAL)
