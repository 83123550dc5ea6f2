"""Linear light: pixel values in proportion to the light that fell on them, and back to codes.

An edge lies where half of the light falls; on coded values it would seem shifted towards the dark.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_TOE, _GAIN, _POWER, _OFFSET = 0.0031308, 12.92, 2.4, 0.055
_CODES = np.arange(256) / 255.0
# IEC 61966-2-1 (sRGB), decoding function
_LINEAR = np.where(
    _CODES <= _TOE * _GAIN, _CODES / _GAIN, ((_CODES + _OFFSET) / (1 + _OFFSET)) ** _POWER
).astype(np.float32)


def linear(coded: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Light from 0 to 1 of sRGB-coded values, same shape."""
    return _LINEAR[coded]


def code(light: Array) -> tuple[Array, Array]:
    """sRGB code from 0 to 1 of linear light, and its slope; same shape, both.

    IEC 61966-2-1, encoding function. Light outside of 0..1 is what a fit tries on its way; there
    the ends are continued straight on, so that it finds back.
    """
    within = np.clip(light, _TOE, 1.0)
    power = within ** (1 / _POWER)
    slope = np.where(light <= _TOE, _GAIN, (1 + _OFFSET) / _POWER * power / within)
    coded = np.where(
        light <= _TOE,
        _GAIN * light,
        (1 + _OFFSET) * power - _OFFSET + slope * np.maximum(light - 1.0, 0.0),
    )
    return coded, slope
