"""Repeatable noise and the share of a pixel, from which the surfaces of the scene are drawn."""

from __future__ import annotations

import functools
import math

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float32]


def turned(x: Array, y: Array, degrees: float, shift: tuple[float, float]) -> tuple[Array, Array]:
    """Coordinates in a frame that is turned by ``degrees`` and moved by ``shift``."""
    c, s = np.float32(np.cos(np.radians(degrees))), np.float32(np.sin(np.radians(degrees)))
    x, y = x - np.float32(shift[0]), y - np.float32(shift[1])
    return c * x + s * y, c * y - s * x


def pixel_size(x: Array, y: Array) -> float:
    """Size of a pixel on the plane, middle of the strip."""
    right = float(np.median(np.hypot(np.diff(x, axis=1), np.diff(y, axis=1))))
    if len(x) < 2:
        return right
    down = float(np.median(np.hypot(np.diff(x, axis=0), np.diff(y, axis=0))))
    return math.sqrt(right * down)


def cover(depth_mm: Array, pixel_mm: float) -> Array:
    """Share of a pixel inside an edge which its centre is ``depth_mm`` inside of."""
    return np.clip(depth_mm / pixel_mm + 0.5, 0, 1)


@functools.cache
def lattice(seed: int) -> Array:
    """(513, 513) repeatable numbers in -1..1, the last row and column equal to the first."""
    numbers = np.random.default_rng(seed + 4711).uniform(-1, 1, (512, 512)).astype(np.float32)
    return np.pad(numbers, ((0, 1), (0, 1)), mode="wrap")


def value_noise(x: Array, y: Array, seed: int) -> Array:
    """Smooth value noise in -1..1 with features of unit size, repeating after 512 units."""
    fx, fy = np.floor(x), np.floor(y)
    tx, ty = x - fx, y - fy
    column = fx % 512 + tx * tx * (3 - 2 * tx)
    row = fy % 512 + ty * ty * (3 - 2 * ty)
    return np.asarray(cv2.remap(lattice(seed), column, row, cv2.INTER_LINEAR), np.float32)
