"""The camera's blur over the photo, as the sides of the card's markers show it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_LEAST_FOR_A_SLOPE = 6


@dataclass(frozen=True)
class Blur:
    """Logarithm of sigma (pixels) as a plane over the photo, for edges across two directions.

    across: (2, 2) the two directions, unit vectors square to the edges. level: (2, 3) constant and
    slopes over ``middle`` (2,), in pixels. spread: standard deviation of the logarithms about it.
    """

    across: Array
    level: Array
    middle: Array
    spread: float

    def sigma_px(self, px: Array, across: Array) -> Array:
        """(n,) sigma at places (n, 2), along directions (n, 2)."""
        arms = np.column_stack([np.ones(len(px)), px - self.middle])
        both = np.exp(2 * arms @ self.level.T)  # (n, 2) variances
        share = (across @ self.across.T) ** 2
        return np.asarray(np.sqrt((both * share).sum(axis=1) / share.sum(axis=1)))

    @property
    def usual_px(self) -> float:
        """In the middle, over all directions."""
        return float(np.exp(self.level[:, 0].mean()))


def blur_of(px: Array, across: Array, log_sigma: Array) -> Blur:
    """From edges at places (n, 2), across directions (n, 2), with logarithms of sigma (n,)."""
    first = across[0]
    alike = np.abs(across @ first) > np.sqrt(0.5)
    middle = px.mean(axis=0)
    levels, directions, rest = [], [], []
    for group in (alike, ~alike):
        chosen = group if group.sum() >= 3 else np.ones(len(px), bool)
        level, residual = _plane(px[chosen] - middle, log_sigma[chosen])
        signs = np.sign(across[chosen] @ across[chosen][0])
        direction = (across[chosen] * signs[:, None]).mean(axis=0)
        levels.append(level)
        directions.append(direction / np.linalg.norm(direction))
        rest.append(residual)
    if not (~alike).any() or not alike.any():
        directions[1] = np.array([-directions[0][1], directions[0][0]])
    spread = 1.4826 * float(np.median(np.abs(np.concatenate(rest))))
    return Blur(np.array(directions), np.array(levels), middle, spread)


def _plane(px: Array, values: Array) -> tuple[Array, Array]:
    """Constant and slopes, and what they leave; twice without what lies far off."""
    arms = np.column_stack([np.ones(len(px)), px])
    kept = np.abs(values - np.median(values)) < 0.5
    level = np.array([float(np.median(values)), 0.0, 0.0])
    for _ in range(2):
        if kept.sum() < _LEAST_FOR_A_SLOPE:
            break
        level = np.linalg.lstsq(arms[kept], values[kept], rcond=None)[0]
        rest = values - arms @ level
        limit = max(3 * 1.4826 * float(np.median(np.abs(rest[kept]))), 0.02)
        kept = np.abs(rest) < limit
    return level, values - arms @ level
