"""The normal distribution: what a Gaussian blur makes of a step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def normal_cdf(x: Array) -> Array:
    """Standard normal distribution function, to 1e-7.

    Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 26.2.17.
    """
    t = 1.0 / (1.0 + 0.2316419 * np.abs(x))
    series = t * (
        0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429)))
    )
    upper = normal_pdf(x) * series
    return np.where(x >= 0, 1.0 - upper, upper)


def normal_pdf(x: Array) -> Array:
    """Its density."""
    return np.exp(-0.5 * np.minimum(x * x, 700.0)) * 0.3989422804014327
