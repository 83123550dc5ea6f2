"""A camera whose lens was calibrated: what a straight line becomes in its photos."""

from __future__ import annotations

from datetime import datetime

from pydantic import Field as Constraint
from pydantic import PositiveFloat, PositiveInt

from recorder.model.base import Value


class Camera(Value):
    """One lens at one setting, as ``seamnote camera`` found it.

    name: by which a person calls it. make, model: as EXIF writes them, empty when it does not.
    focal_mm, focal_35mm: focal length by EXIF, real and for a frame 36 mm wide.
    zoom: digital zoom by EXIF, 1 without.
    size_px: width and height of its photos as the camera stores them, before they are turned
    upright. focal_px: focal length in x and y. centre_px: principal point, both for ``size_px``.
    distortion: k1, k2, p1, p2, k3 of the Brown-Conrady model, in the order of OpenCV.
    rms_px: misfit of the points that were used. held_out: relative standard deviation of lengths
    on photos that the calibration did not see. photos: how many were used. target: of what.
    """

    name: str
    make: str = ""
    model: str = ""
    focal_mm: PositiveFloat | None = None
    focal_35mm: PositiveFloat | None = None
    zoom: PositiveFloat = 1.0
    size_px: tuple[PositiveInt, PositiveInt]
    focal_px: tuple[PositiveFloat, PositiveFloat]
    centre_px: tuple[float, float]
    distortion: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 0.0, 0.0)
    rms_px: float = Constraint(ge=0)
    held_out: float = Constraint(ge=0)
    photos: int = Constraint(ge=1)
    target: str
    calibrated_at: datetime

    @property
    def shown(self) -> str:
        """'Quillback Q7, 5.1 mm, 4000 x 3000 px', as far as EXIF said."""
        return shown(self.make, self.model, self.focal_mm, self.zoom, self.size_px)


def shown(
    make: str, model: str, focal_mm: float | None, zoom: float, size_px: tuple[int, int]
) -> str:
    """A camera at one setting, in words; the longer side first."""
    known = model if model.casefold().startswith(make.casefold()) else f"{make} {model}".strip()
    parts = [known or "a camera that does not say which"]
    if focal_mm:
        parts.append(f"{focal_mm:g} mm")
    if zoom != 1:
        parts.append(f"zoom {zoom:g}")
    return ", ".join([*parts, f"{max(size_px)} x {min(size_px)} px"])
