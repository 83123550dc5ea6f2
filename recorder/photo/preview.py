"""From one frame of the camera to a hint: would a photo taken now be measured?

The frame is small and is looked at with the same detectors as a photo, but only roughly, so that
an answer takes a tenth of a second. No number is measured in it.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.belt.belt import edges_show
from recorder.photo.card.fiducials import find_markers
from recorder.photo.card.layout import CardLayout
from recorder.photo.card.reference import (
    LARGEST_TILT_DEG,
    LEAST_MARKER_PX,
    glance,
    layout_of,
    need_markers,
)
from recorder.photo.geometry.plane import Plane, from_points
from recorder.photo.hint import Hint
from recorder.photo.image import picture
from recorder.photo.image.exposure import burnt, too_grey
from recorder.photo.image.refusal import Refusal
from recorder.photo.measure import LARGEST_BLUR_MM, LARGEST_BLUR_PX, LEAST_PX_PER_MM

Array = NDArray[np.float64]

MOST_PIXELS = 4_000_000  # of a frame
LONGEST_PX = 960  # of a frame as it is looked at
_ROUGH_PX = 0.5  # noise of a marker's corner in a frame
_FRAME_BLUR_PX = 0.42  # of a sharp edge in a picture that was made smaller (tests/bench/preview)
_GLANCED = 4  # markers, at which the blur is read
# The hand moves before the photo is taken, so a frame that is only just good is not called ready.
_TILT_SPARE, _BLUR_SPARE, _SCALE_SPARE = 0.85, 0.8, 1.05


def preview(jpeg: bytes, photo_px: int = 0) -> Hint:
    """photo_px: longer side of the photo that would be taken, 0 for as large as the frame came.

    Raises NotAPicture, FileTooLarge.
    """
    bgr = picture.frame(jpeg, MOST_PIXELS)
    larger = max(photo_px, max(bgr.shape[:2]))
    if max(bgr.shape[:2]) > LONGEST_PX:
        share = LONGEST_PX / max(bgr.shape[:2])
        size = (round(bgr.shape[1] * share), round(bgr.shape[0] * share))
        bgr = np.asarray(cv2.resize(bgr, size, interpolation=cv2.INTER_AREA), np.uint8)
    return _hint(bgr, larger / max(bgr.shape[:2]))


def _hint(bgr: NDArray[np.uint8], larger: float) -> Hint:
    """larger: pixels of the photo for one of the frame."""
    grey = np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2GRAY), np.uint8)
    squares = find_markers(grey)
    if not squares:
        return Hint(words="show the reference card")
    try:
        layout = layout_of(squares)
        squares = {marker: squares[marker] for marker in squares if marker in layout.markers}
        need_markers(squares, layout)
        plane = _plane(squares, layout)
    except (Refusal, ValueError, np.linalg.LinAlgError):
        return Hint(words="show the whole card")
    centre = np.array(layout.splice_centre_mm)
    square = plane.tilt_deg(centre) <= LARGEST_TILT_DEG * _TILT_SPARE
    scale = plane.scale_px_per_mm(centre)
    seen = glance(grey, burnt(bgr), np.array(_spread(squares)))
    sharp = seen is not None and _sharp(seen[0], scale, larger)
    try:
        belt_whole = edges_show(bgr, plane, layout.window_mm)
    except Refusal:
        return Hint(card_seen=True, sharp=sharp, square=square, words="show the whole card")
    hint = Hint(card_seen=True, belt_whole=belt_whole, sharp=sharp, square=square)
    words = _words(hint, _near(squares, scale, larger), seen is not None and too_grey(seen[1]))
    return hint.model_copy(update={"words": words or "ready", "ready": not words})


def _words(hint: Hint, near: bool, grey: bool) -> str:
    """What to do first; empty for a photo that can be taken."""
    if not near:
        return "come closer"
    if not hint.square:
        return "tilt less"
    if not hint.sharp:
        return "hold still"
    if grey:
        return "take it without haze or glare"
    return "" if hint.belt_whole else "show both belt edges"


def _plane(squares: dict[int, Array], layout: CardLayout) -> Plane:
    mm = np.concatenate([layout.corners_mm(marker) for marker in squares])
    return from_points(mm, np.concatenate(list(squares.values())), _ROUGH_PX)


def _spread(squares: dict[int, Array]) -> list[Array]:
    """A few of the markers, from all over the card."""
    listed = [squares[marker] for marker in sorted(squares)]
    chosen = np.linspace(0, len(listed) - 1, min(_GLANCED, len(listed))).round().astype(int)
    return [listed[place] for place in chosen]


def _near(squares: dict[int, Array], scale: float, larger: float) -> bool:
    side = min(float(np.linalg.norm(np.roll(s, 1, 0) - s, axis=1).min()) for s in squares.values())
    enough = side * larger >= LEAST_MARKER_PX * _SCALE_SPARE
    return enough and scale * larger >= LEAST_PX_PER_MM * _SCALE_SPARE


def _sharp(blur_px: float, scale: float, larger: float) -> bool:
    """Of the blur in the frame, what making it smaller gave is none of the photo's."""
    blur = math.sqrt(max(blur_px**2 - _FRAME_BLUR_PX**2, 0.0))
    return (
        blur / scale <= LARGEST_BLUR_MM * _BLUR_SPARE
        and blur * larger <= LARGEST_BLUR_PX * _BLUR_SPARE
    )
