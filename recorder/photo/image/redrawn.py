"""A picture for people to look at: smaller, upright, without what the camera wrote beside it."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
from PIL import Image

from recorder.photo.image import picture

_QUALITY = 85
MOST_PX = 4_000


def redrawn(path: Path, longest_px: int) -> bytes:
    """A JPEG no longer than that on either side. Raises as ``picture.load``."""
    bgr = picture.load(path).bgr
    image = Image.fromarray(np.ascontiguousarray(bgr[:, :, ::-1]))
    side = max(1, min(longest_px, MOST_PX))
    image.thumbnail((side, side), Image.Resampling.LANCZOS, reducing_gap=2.0)
    file = io.BytesIO()
    image.save(file, "JPEG", quality=_QUALITY)
    return file.getvalue()
