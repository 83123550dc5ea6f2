"""Whether photos of a target have it in every part of the picture."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_COLUMNS, _ROWS = 12, 9
_CORNER = 1 / 3  # of each side
_EDGE = 0.15


def fields(px: Array, size_px: tuple[int, int]) -> tuple[tuple[int, ...], ...]:
    """How many of the points (n, 2) lie in each field of the picture, nine rows of twelve."""
    column = np.clip(px[:, 0] / size_px[0] * _COLUMNS, 0, _COLUMNS - 1).astype(int)
    row = np.clip(px[:, 1] / size_px[1] * _ROWS, 0, _ROWS - 1).astype(int)
    counts = np.zeros((_ROWS, _COLUMNS), int)
    np.add.at(counts, (row, column), 1)
    return tuple(tuple(line) for line in counts.tolist())


def corners_missing(px: Array, size_px: tuple[int, int]) -> tuple[str, ...]:
    """Names of the corners of the picture, each a third of its sides, without a point."""
    x, y = (px / size_px).T
    inside = {
        "the upper left": (x < _CORNER) & (y < _CORNER),
        "the upper right": (x > 1 - _CORNER) & (y < _CORNER),
        "the lower left": (x < _CORNER) & (y > 1 - _CORNER),
        "the lower right": (x > 1 - _CORNER) & (y > 1 - _CORNER),
    }
    return tuple(name for name, points in inside.items() if not points.any())


def edges_missing(px: Array, size_px: tuple[int, int]) -> tuple[str, ...]:
    """Names of the edges of the picture, each 15 % wide, without a point."""
    x, y = (px / size_px).T
    inside = {"left": x < _EDGE, "right": x > 1 - _EDGE, "upper": y < _EDGE, "lower": y > 1 - _EDGE}
    return tuple(name for name, points in inside.items() if not points.any())
