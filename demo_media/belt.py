"""The belt of the rendered photos: its outline, its finger seam and its surface."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo_media.drawing import cover, value_noise

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Belt:
    """width_mm, thickness_mm, pitch_mm and finger_mm (length) of the finger seam.
    gaps_mm: gap across the flank for each flank from the upper edge on, repeated when too few;
    a pair is the gap at the flank's begin and end (linear between).
    offset_mm: the right end lies that far down. skew_deg: it is turned that far about the splice.
    phase_mm: where the first finger begins. turn_deg: of the whole belt on the bench.
    """

    width_mm: float = 70.0
    thickness_mm: float = 2.0
    pitch_mm: float = 10.0
    finger_mm: float = 30.0
    gaps_mm: tuple[float | tuple[float, float], ...] = (0.3,)
    offset_mm: float = 0.0
    skew_deg: float = 0.0
    phase_mm: float = 0.0
    turn_deg: float = 0.0
    shift_mm: tuple[float, float] = (0.0, 0.0)
    colour: tuple[float, float, float] = (0.30, 0.50, 0.44)  # linear red, green, blue
    second_colour: tuple[float, float, float] | None = None  # of the right end
    gap_light: float = 0.10  # share of the belt's light that comes out of the gap
    texture: float = 0.02
    pressed: bool = False


def flank_count(belt: Belt) -> int:
    return round(2 * belt.width_mm / belt.pitch_mm)


def gap_ends(belt: Belt, flank: int) -> tuple[float, float]:
    gap = belt.gaps_mm[flank % len(belt.gaps_mm)]
    return gap if isinstance(gap, tuple) else (gap, gap)


def seam_x(belt: Belt, y: float) -> float:
    """Where the middle of the seam lies along the belt, ``y`` below its upper edge."""
    place = (y - belt.phase_mm) / (belt.pitch_mm / 2)
    return belt.finger_mm * (0.5 - abs(place % 2 - 1))


def _seam(belt: Belt, x: Array, y: Array, pixel_mm: float) -> tuple[Array, Array]:
    """Covered share of the gap, and signed distance along x to the seam (negative: left end)."""
    half = belt.pitch_mm / 2
    place = (y + belt.width_mm / 2 - belt.phase_mm) / half
    index = np.floor(place).astype(int)
    gap = np.zeros_like(x)
    length = float(np.hypot(belt.finger_mm, half))
    for step in (-1, 0, 1):
        k = index + step
        sign = np.where(k % 2 == 0, 1.0, -1.0).astype(np.float32)
        y0 = (k * half - belt.width_mm / 2 + belt.phase_mm).astype(np.float32)
        x0 = (-sign * belt.finger_mm / 2).astype(np.float32)
        ux, uy = sign * (belt.finger_mm / length), half / length
        along = (x - x0) * ux + (y - y0) * uy
        across = np.abs((y - y0) * ux - (x - x0) * uy)
        ends = np.array([gap_ends(belt, i) for i in range(flank_count(belt))], np.float32)
        pick = np.clip(k, 0, len(ends) - 1)
        share = np.clip(along / length, 0, 1)
        wide = ends[pick, 0] * (1 - share) + ends[pick, 1] * share
        beyond = np.maximum(np.maximum(-along, along - length), 0)
        distance = np.hypot(across, beyond)
        inner = cover(wide / 2 - distance, pixel_mm) + cover(wide / 2 + distance, pixel_mm) - 1
        gap = np.maximum(gap, np.clip(inner, 0, 1))
    wave = np.abs((place % 2) - 1)  # 1 at an even index, 0 at an odd one
    seam_x = belt.finger_mm * (0.5 - wave)
    return gap, x - seam_x.astype(np.float32)


def outline(belt: Belt, x: Array, y: Array) -> Array:
    """Depth inside the belt's edges, per pixel; each end with its own edges."""
    half = belt.width_mm / 2
    place = (y + half - belt.phase_mm) / (belt.pitch_mm / 2)
    right = x > belt.finger_mm * (0.5 - np.abs((place % 2) - 1))
    angle = np.radians(belt.skew_deg)
    y_right = (y - belt.offset_mm) * np.cos(angle) - x * np.sin(angle)
    own = np.where(right, y_right, y)
    return np.asarray(half - np.abs(own), np.float32)


def belt_light(belt: Belt, x: Array, y: Array, pixel: float, seed: int) -> Array:
    gap, signed = _seam(belt, x, y, pixel)
    colour = np.broadcast_to(np.array(belt.colour, np.float32), (*x.shape, 3))
    if belt.second_colour:
        right = cover(signed * 0.16, pixel)[:, :, None]
        colour = colour * (1 - right) + np.array(belt.second_colour, np.float32) * right
    cloth = value_noise(x * 1.7, y * 1.7, seed + 3) * 0.6 + value_noise(x * 0.13, y * 0.2, seed + 4)
    weave = np.sin(x * 6.9) * np.sin(y * 6.9) * np.clip(1.2 - pixel * 6, 0, 1)
    tone = 1 + belt.texture * (cloth + 0.5 * weave)
    if belt.pressed:
        plate = 0.5 - 0.5 * np.tanh(np.abs(x) - belt.finger_mm / 2 - 14)
        tone = tone * (1 + plate * (0.05 - belt.texture * 0.5 * weave))
        tone = tone - 0.05 * np.exp(-(((np.abs(x) - belt.finger_mm / 2 - 14) / 0.7) ** 2))
    scuffs = _scuffs(x, y, seed)
    tone = tone * (1 + scuffs)
    return colour * (tone * (1 - gap * (1 - belt.gap_light)))[:, :, None]


def _scuffs(x: Array, y: Array, seed: int) -> Array:
    """A few faint bright scratches, away from the seam's own direction and contrast."""
    rng = np.random.default_rng(seed + 77)
    total = np.zeros_like(x)
    for _ in range(7):
        cx, cy = float(rng.uniform(-60, 60)), float(rng.uniform(-40, 40))
        angle, length = float(rng.uniform(0, np.pi)), float(rng.uniform(4, 18))
        c, s = math.cos(angle), math.sin(angle)
        along = (x - cx) * c + (y - cy) * s
        across = (y - cy) * c - (x - cx) * s + 0.004 * along**2
        reach = (along / length) ** 2
        total += 0.06 * np.exp(-np.minimum((across / 0.12) ** 2 + reach * reach, 30))
    return total
