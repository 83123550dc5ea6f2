"""What the camera's coding did to the light: burnt-out white, and a bent tone curve.

The fits rest on pixel values in proportion to light. Where a channel is at its end they are not,
and the edge moves towards the bright side; where a phone bends the tones, it moves as well.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.image.refusal import Refusal

Array = NDArray[np.float64]

BURNT_SHARE = 0.05  # of the pixels beside an edge; more of them move it
_BURNT_CODE = 252  # JPEG leaves burnt-out white a few codes below 255
# Light of printed black as a share of that of the paper: common practice, no source. Densities of
# 1.2 to 1.5 give 0.03 to 0.06.
_INK_TO_PAPER = 0.045
LARGEST_BEND = 0.55
_SWELL_OF_BEND = 0.81  # sigmas of the blur, see ``budget.u_of_tone``
_SWELL_MARGIN = 0.08  # of a bend that the markers' size leaves open
UNKNOWN_BEND = 0.9  # counted where the card cannot tell: its black crushed, or its paper burnt out


def burnt(bgr: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """(h, w) where any channel is at its upper end."""
    blue, green, red = cv2.split(bgr)
    return np.asarray(cv2.max(cv2.max(blue, green), red)) >= _BURNT_CODE


def burnt_channels(bgr: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """(3,) of pixels (n, 3): the channels of which too many pixels are at their upper end."""
    return np.asarray((bgr >= _BURNT_CODE).mean(axis=0) > BURNT_SHARE)


def tone_bend(ink_to_paper: float, swell_sigmas: float) -> float:
    """Logarithm of the exponent by which the photo's tones depart from sRGB.

    A tone curve that raises light to a power raises the share of light that the card's black
    gives back to the same power, so that known black tells the power; how well the black is known
    is left to the budget. Black that the photo crushed tells only that the bend is large, and
    counts as ``UNKNOWN_BEND``. But a curve that darkens swells the markers, by 0.81 sigma for a
    bend of 1, as ink that spreads does too: where they did not swell, nothing was bent, and the
    black is merely good. swell_sigmas: how far their sides lie outside of their places.
    Raises Refusal for black that looks greyer than ``LARGEST_BEND``.
    """
    bend = _bend(ink_to_paper)
    if bend < -LARGEST_BEND:
        raise Refusal(
            "the card's black looks grey: the photo was processed too strongly, or light veils "
            "it; take it with the plain camera setting, without filter or haze on the lens"
        )
    by_black = bend if bend <= LARGEST_BEND else UNKNOWN_BEND
    by_size = max(swell_sigmas, 0.0) / _SWELL_OF_BEND + _SWELL_MARGIN
    return min(by_black, by_size)


def too_grey(ink_to_paper: float) -> bool:
    """Whether ``tone_bend`` refuses it."""
    return _bend(ink_to_paper) < -LARGEST_BEND


def _bend(ink_to_paper: float) -> float:
    power = np.log(np.clip(ink_to_paper, 1e-6, 0.99)) / np.log(_INK_TO_PAPER)
    return float(np.log(power))
