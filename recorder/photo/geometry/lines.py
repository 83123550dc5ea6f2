"""Straight lines through points some of which do not belong."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class NoLine(ValueError):
    """Fewer than three points, or none beside another."""


@dataclass(frozen=True)
class Line:
    """y = level + slope (x - middle). covariance: (2, 2) of level and slope, from the scatter."""

    middle: float
    level: float
    slope: float
    covariance: Array

    def at(self, x: float) -> float:
        return self.level + self.slope * (x - self.middle)

    def along(self, x: Array) -> Array:
        return self.level + self.slope * (x - self.middle)

    def u_at(self, x: float) -> float:
        """Standard uncertainty of the line at x."""
        arm = np.array([1.0, x - self.middle])
        return float(np.sqrt(max(arm @ self.covariance @ arm, 0.0)))


def through(x: Array, y: Array, steepest: float = np.inf) -> Line:
    """Line by the median of all slopes (Theil and Sen), then least squares of what lies near it.

    Raises NoLine when that is not possible.
    """
    if len(x) < 3:
        raise NoLine
    i, j = np.triu_indices(len(x), 1)
    apart = np.abs(x[j] - x[i]) > 1e-9
    slopes = (y[j] - y[i])[apart] / (x[j] - x[i])[apart]
    slopes = slopes[np.abs(slopes) < steepest]
    if not len(slopes):
        raise NoLine
    slope = float(np.median(slopes))
    offset = y - slope * x
    residual = offset - np.median(offset)
    spread = max(1.4826 * float(np.median(np.abs(residual))), 1e-4)
    kept = np.abs(residual) < 3.5 * spread
    middle = float(np.mean(x[kept]))
    arms = np.column_stack([np.ones(int(kept.sum())), x[kept] - middle])
    solution = np.linalg.lstsq(arms, y[kept], rcond=None)[0]
    rest = y[kept] - arms @ solution
    scatter = float(np.sqrt(rest @ rest / max(len(rest) - 2, 1)))
    covariance = max(scatter, 1e-4) ** 2 * np.linalg.pinv(arms.T @ arms)
    return Line(middle, float(solution[0]), float(solution[1]), covariance)
