"""Linear light: pixel values in proportion to the light that fell on them.

An edge lies where half of the light falls; on coded values it would seem shifted towards the dark.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_CODES = np.arange(256) / 255.0
# IEC 61966-2-1 (sRGB), decoding function
_LINEAR = np.where(_CODES <= 0.04045, _CODES / 12.92, ((_CODES + 0.055) / 1.055) ** 2.4).astype(
    np.float32
)
# ITU-R BT.709 luminance, in the order blue, green, red
_LUMINANCE = np.array([0.0722, 0.7152, 0.2126], np.float32)


def linear(coded: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Light from 0 to 1 of sRGB-coded values, same shape."""
    return _LINEAR[coded]


def luminance(bgr: NDArray[np.uint8]) -> NDArray[np.float32]:
    """(h, w) linear luminance of a blue-green-red picture, row by row to spare memory."""
    light = np.empty(bgr.shape[:2], np.float32)
    for top in range(0, bgr.shape[0], 256):
        light[top : top + 256] = linear(bgr[top : top + 256]) @ _LUMINANCE
    return light
