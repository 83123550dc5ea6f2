"""Exact area coverage of polygons on a grid of cells; no edge is ever sampled."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Plane = NDArray[np.float32]


class Shape:
    """Closed outlines on a grid ``width`` cells wide; cell (i, j) spans i..i+1 in x, j..j+1 in y.

    The signed area that each piece of outline cuts from its cell is kept, sorted by rows, so that
    any strip of rows can be had for the cost of one running sum.
    """

    def __init__(self, outlines: list[Points], width: int) -> None:
        self.width = width
        begins = np.concatenate([np.zeros((0, 2)), *outlines])
        finishes = np.concatenate([np.zeros((0, 2)), *(np.roll(o, -1, axis=0) for o in outlines)])
        pieces = _split(_split(np.hstack([begins, finishes]), 1), 0)
        middle = (pieces[:, :2] + pieces[:, 2:]) / 2
        rows = np.floor(middle[:, 1]).astype(np.int64)
        across = np.clip(middle[:, 0], 0.0, float(width))
        columns = np.minimum(np.floor(across).astype(np.int64), width)
        rise = pieces[:, 3] - pieces[:, 1]
        part = across - columns
        order = np.argsort(rows, kind="stable")
        self._rows = rows[order]
        self._columns = columns[order]
        self._here = (rise * (1 - part))[order].astype(np.float32)
        self._next = (rise * part)[order].astype(np.float32)

    def rows(self, first: int, last: int) -> Plane:
        """Share of each cell that lies inside, rows first..last-1: (last - first, width), 0..1."""
        low, high = np.searchsorted(self._rows, [first, last])
        height, stride = last - first, self.width + 2
        if low == high:
            return np.zeros((height, self.width), np.float32)
        cell = (self._rows[low:high] - first) * stride + self._columns[low:high]
        sums = np.zeros(height * stride, np.float32)
        np.add.at(sums, cell, self._here[low:high])
        np.add.at(sums, cell + 1, self._next[low:high])
        kept = np.cumsum(sums.reshape(height, stride)[:, : self.width], axis=1)
        np.abs(kept, out=kept)
        return np.minimum(kept, 1, out=kept)

    def touches(self, first: int, last: int) -> bool:
        """Whether any of it lies in these rows."""
        low, high = np.searchsorted(self._rows, [first, last])
        return bool(high > low)


def _split(pieces: Points, axis: int) -> Points:
    """Cut pieces (x0, y0, x1, y1) at every whole number along one axis."""
    low = np.minimum(pieces[:, axis], pieces[:, 2 + axis])
    high = np.maximum(pieces[:, axis], pieces[:, 2 + axis])
    first = np.floor(low)
    count = np.maximum(np.ceil(high) - first, 1).astype(np.int64)
    index = np.repeat(np.arange(len(pieces)), count)
    step = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    begin, finish = pieces[index, :2], pieces[index, 2:]
    cut_low = np.clip(first[index] + step, low[index], high[index])
    cut_high = np.clip(first[index] + step + 1, low[index], high[index])
    length = finish[:, axis] - begin[:, axis]
    flat = length == 0
    safe = np.where(flat, 1.0, length)
    near = np.where(flat, 0.0, (np.where(length > 0, cut_low, cut_high) - begin[:, axis]) / safe)
    far = np.where(flat, 1.0, (np.where(length > 0, cut_high, cut_low) - begin[:, axis]) / safe)
    direction = finish - begin
    return np.hstack([begin + near[:, None] * direction, begin + far[:, None] * direction])
