"""Faces of the belt and of the bench as pictures in their own planes, with all that lies on them.

Nothing here carries a truth, so plain raster drawing will do.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.bench.seams.scene import Belt, Colour, Mark

Plane = NDArray[np.float32]


@dataclass(frozen=True)
class Sheet:
    """image: (rows, columns, 3) reflectance. corner: x, y mm of its first pixel. per_mm."""

    image: Plane
    corner: tuple[float, float]
    per_mm: float


def belt_faces(
    belt: Belt, marks: tuple[Mark, ...], low: tuple[float, float], high: tuple[float, float],
    per_mm: float, seed: int,
) -> list[Sheet]:  # fmt: skip
    """The faces of the left and the right end over low..high (x, y) of the belt frame.

    Both ends are cut from one roll: the right one's weave is the left one's, turned half round.
    """
    rng = np.random.default_rng([seed, 3])
    columns, rows = (max(int((b - a) * per_mm), 8) for a, b in zip(low, high, strict=True))
    y = (np.arange(rows, dtype=np.float32) + 0.5) / per_mm + low[1]
    grey = _woven(belt, rows, columns, low, per_mm, rng)
    sheets = []
    for colour, plain in zip(belt.colours, (grey, grey[::-1, ::-1]), strict=True):
        face = plain.copy()
        for at, width in belt.profile:
            t = (y - at) / (width / 2)
            face *= (1 + (0.1 - 0.25 * t) * np.exp(-0.5 * t**2))[:, None]
        image = face[..., None] * np.array(colour, np.float32)
        for number, mark in enumerate(marks):
            _draw(image, mark, low, per_mm, np.random.default_rng([seed, 4, number]))
        np.clip(image, 0.002, 0.97, out=image)
        sheets.append(Sheet(image, low, per_mm))
    return sheets


def _woven(
    belt: Belt, rows: int, columns: int, low: tuple[float, float], per_mm: float,
    rng: np.random.Generator,
) -> Plane:  # fmt: skip
    """Weave, cords, grain and specks around 1."""
    x = (np.arange(columns, dtype=np.float32) + 0.5) / per_mm + low[0]
    y = (np.arange(rows, dtype=np.float32) + 0.5) / per_mm + low[1]
    grey = np.ones((rows, columns), np.float32)
    period, contrast, angle = belt.fabric
    if contrast > 0:
        c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        wave, other = np.float32(2 * np.pi / period), np.float32(2 * np.pi / (period * 1.13))
        drift = _smooth(rows, columns, 6 * per_mm, rng)
        u = (np.float32(c * wave) * x)[None, :] + (np.float32(s * wave) * y)[:, None] + drift
        v = (np.float32(-s * other) * x)[None, :] + (np.float32(c * other) * y)[:, None] - drift
        grey += np.float32(contrast / 2) * (np.sin(u) + np.sin(v))
    if belt.cords[1] > 0:
        grey *= 1 + np.float32(belt.cords[1]) * np.sin(y * (2 * np.pi / belt.cords[0]))[:, None]
    if belt.grain > 0:
        grey *= 1 + belt.grain * _smooth(rows, columns, 0.08 * per_mm, rng)
        grey *= 1 + 0.6 * belt.grain * _smooth(rows, columns, 4 * per_mm, rng)
    if belt.speckle > 0:
        spots = _smooth(rows, columns, 0.12 * per_mm, rng)
        grey *= np.where(spots > 2.2, np.float32(1 - belt.speckle), np.float32(1))
    return grey


def _smooth(rows: int, columns: int, sigma_px: float, rng: np.random.Generator) -> Plane:
    """Normal noise of unit rms, smooth over that many pixels."""
    step = max(sigma_px / 1.5, 1.0)
    small = rng.standard_normal((int(rows / step) + 4, int(columns / step) + 4), dtype=np.float32)
    small = cv2.GaussianBlur(small, (0, 0), max(sigma_px / step, 0.4))
    noise = cv2.resize(small, (columns, rows), interpolation=cv2.INTER_LINEAR)
    return np.asarray(noise / max(float(small.std()), 1e-6), np.float32)


def _draw(
    image: Plane, mark: Mark, corner: tuple[float, float], per_mm: float, rng: np.random.Generator
) -> None:
    """Multiply what a mark leaves of the reflectance into a face."""
    rows, columns = image.shape[:2]
    points = (np.array(mark.path) - corner) * per_mm
    pad = int(3 * mark.width_mm * per_mm) + 4
    low = np.maximum(np.floor(points.min(axis=0)).astype(int) - pad, 0)
    high = np.minimum(np.ceil(points.max(axis=0)).astype(int) + pad, [columns, rows])
    if np.any(high <= low):
        return
    part = image[low[1] : high[1], low[0] : high[0]]
    canvas = np.zeros(part.shape[:2], np.uint8)
    fine = np.round((points - low) * 16).astype(np.int32)
    broad = max(1, round(mark.width_mm * per_mm))
    cv2.polylines(canvas, [fine], False, 255, broad, cv2.LINE_AA, 4)
    cover = canvas.astype(np.float32) / 255
    if mark.kind == "burn":
        cover = cv2.GaussianBlur(cover, (0, 0), 0.4 * mark.width_mm * per_mm)
        cover *= 1 + 0.3 * _smooth(*cover.shape, per_mm, rng)
        tint = np.array([mark.factor, mark.factor * 0.85, mark.factor * 0.6], np.float32)
    else:
        if mark.kind == "scratch":
            cover *= np.clip(1 + 0.5 * _smooth(*cover.shape, per_mm, rng), 0, 1)
        if mark.kind == "flash":
            cover = cv2.GaussianBlur(cover, (0, 0), max(0.25 * mark.width_mm * per_mm, 0.3))
        tint = np.full(3, mark.factor, np.float32)
        if mark.kind == "pen":
            tint *= np.array([0.8, 0.8, 1.3], np.float32)
    part *= 1 + np.clip(cover, 0, 1)[..., None] * (tint - 1)


def bench_face(
    colour: Colour, grain: float, clutter: tuple[str, ...], reach: float, seed: int
) -> Sheet:
    """The bench over -reach..reach in world mm, with tools and cables lying about."""
    rng = np.random.default_rng([seed, 5])
    per_mm = min(5.0, 700 / reach)
    columns = rows = int(2 * reach * per_mm)
    grey = 1 + grain * _smooth(rows, columns, 2.5, rng)
    grey *= 1 + grain * _smooth(rows, columns, 120, rng)
    streaks = cv2.GaussianBlur(
        rng.standard_normal((rows, 1), dtype=np.float32), (1, 0), 0, sigmaY=3
    )
    grey *= 1 + 0.5 * grain * streaks / max(float(streaks.std()), 1e-6)
    image = np.clip(grey, 0.3, 1.8)[..., None] * np.array(colour, np.float32)
    image = np.ascontiguousarray(image, np.float32)
    for thing in clutter:
        _THINGS[thing](image, per_mm, rng)
    return Sheet(np.clip(image, 0.002, 0.95), (-reach, -reach), per_mm)


def _cable(image: Plane, per_mm: float, rng: np.random.Generator) -> None:
    rows, columns = image.shape[:2]
    t = np.linspace(0, 1, 60)
    start, finish = rng.uniform(0, 1, (2, 2)) * [columns, rows]
    side = 1 if rng.random() < 0.5 else 0
    start[side], finish[side] = 0, (columns, rows)[side]
    path = start + t[:, None] * (finish - start)
    path[:, 1 - side] += 0.1 * rows * np.sin(2 * np.pi * (t * rng.uniform(0.5, 1.5) + rng.random()))
    width = int(rng.uniform(4, 8) * per_mm)
    shade = rng.uniform(0.03, 0.5, 3)
    points = [np.round(path * 16).astype(np.int32)]
    for k, part in enumerate((1.0, 0.7, 0.35, 0.12)):
        glow = tuple(float(v) for v in shade * (0.55 + 0.3 * k))
        cv2.polylines(image, points, False, glow, max(1, int(width * part)), cv2.LINE_AA, 4)


def _rule(image: Plane, per_mm: float, rng: np.random.Generator) -> None:
    """A steel rule: bright, with a dark line each millimetre."""
    length, broad = 150.0, 18.0
    strip = np.full((int(broad * per_mm), int(length * per_mm)), 0.55, np.float32)
    for mm in range(int(length)):
        reach = 8.0 if mm % 10 == 0 else 5.5 if mm % 5 == 0 else 3.5
        x = int(mm * per_mm)
        strip[: int(reach * per_mm), x : x + 1] = 0.06
    strip *= 1 + 0.06 * _smooth(strip.shape[0], strip.shape[1], 2, rng)
    _lay(image, strip[..., None] * np.array([1, 1, 1.02], np.float32), rng)


def _tool(image: Plane, per_mm: float, rng: np.random.Generator) -> None:
    """A knife or driver: a grip of one colour, a shaft of steel."""
    strip = np.full((int(22 * per_mm), int(130 * per_mm), 3), np.nan, np.float32)
    grip = rng.uniform(0.02, 0.6, 3)
    shade = np.sqrt(np.clip(1 - np.linspace(-1, 1, strip.shape[0]) ** 2, 0.1, 1))
    half = strip.shape[1] // 2
    strip[:, :half] = grip * shade[:, None, None]
    middle = slice(int(7 * per_mm), int(15 * per_mm))
    strip[middle, half:] = 0.5 * shade[middle, None, None]
    _lay(image, strip, rng)


def _paper(image: Plane, per_mm: float, rng: np.random.Generator) -> None:
    """A white sheet with lines of print."""
    strip = np.full((int(90 * per_mm), int(60 * per_mm), 3), 0.8, np.float32)
    for row in range(int(8 * per_mm), strip.shape[0] - int(8 * per_mm), int(5 * per_mm)):
        column = int(6 * per_mm)
        while column < strip.shape[1] - int(10 * per_mm):
            word = int(rng.uniform(2, 9) * per_mm)
            strip[row : row + int(1.6 * per_mm), column : column + word] = 0.12
            column += word + int(1.5 * per_mm)
    _lay(image, strip, rng)


def _squares(image: Plane, per_mm: float, rng: np.random.Generator) -> None:
    """Black squares on white, like a marker though none."""
    strip = np.full((int(34 * per_mm), int(34 * per_mm), 3), 0.8, np.float32)
    cell = int(4 * per_mm)
    inner = strip[cell // 2 : cell // 2 + 8 * cell, cell // 2 : cell // 2 + 8 * cell]
    inner[:] = 0.05
    for _ in range(14):
        r, c = rng.integers(1, 7, 2) * cell
        inner[r : r + cell, c : c + cell] = 0.8
    _lay(image, strip, rng)


def _lay(image: Plane, thing: Plane, rng: np.random.Generator) -> None:
    """Put a thing down anywhere, turned anyhow; where it is not a number it is not."""
    rows, columns = image.shape[:2]
    height, width = thing.shape[:2]
    angle = rng.uniform(0, 360)
    at = rng.uniform(0.02, 0.98, 2) * [columns, rows]
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), angle, 1.0)
    turn[:, 2] += at - np.array([width / 2, height / 2])
    there = (~np.isnan(thing[..., 0])).astype(np.float32)
    size = (columns, rows)
    cover = cv2.warpAffine(there, turn, size)[..., None]
    shade = cv2.warpAffine(there, turn + np.array([[0, 0, 8], [0, 0, 10]]), size)
    image *= 1 - 0.45 * cv2.GaussianBlur(shade, (0, 0), 7)[..., None] * (1 - cover)
    image += cover * (cv2.warpAffine(np.nan_to_num(thing), turn, size) - image)


_THINGS = {"cable": _cable, "rule": _rule, "tool": _tool, "paper": _paper, "squares": _squares}
