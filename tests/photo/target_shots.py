"""Drawn photos of flat targets through a lens that is known: for tests of calibration.

Art is sampled three by three times a pixel in linear light, blurred there, and coded as sRGB, so
that edges lie where the lens puts them. Not photographs.
"""

from __future__ import annotations

import functools
import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image

from recorder.photo.card.card import card_png
from recorder.photo.card.layout import CARD_SIZES
from recorder.photo.geometry.lens import Lens

INK, PAPER, BENCH = 0.04, 0.80, 0.25
LENS = Lens((800.0, 800.0), (508.0, 366.0), (0.06, -0.05, 0.001, -0.0008, 0.0))
SIZE = (1000, 750)
FINE = 3
RIM_MM = 8


@dataclass(frozen=True)
class Art:
    """light: (h, w) of the flat target, bench around it. per_mm: its pixels in a millimetre.
    size_mm: width and height without the bench.
    """

    light: np.ndarray
    per_mm: float
    size_mm: tuple[float, float]


@dataclass(frozen=True)
class View:
    """tilt_deg about x and y, roll_deg, away: distance over the least at which the target is seen
    whole, aim: where its middle lies in the picture, as shares of width and height.
    """

    tilt_deg: tuple[float, float]
    roll_deg: float = 0.0
    away: float = 1.2
    aim: tuple[float, float] = (0.5, 0.5)


# All round, into every corner.
VIEWS = (
    View((0, 0), 3), View((25, 0), -5, 1.3), View((-25, 5), 90, 1.4), View((3, 28), 2, 1.3),
    View((5, -28), -88, 1.4), View((15, 15), 10, 1.35, (0.3, 0.3)),
    View((-15, 15), -8, 1.35, (0.7, 0.3)), View((15, -15), 4, 1.35, (0.3, 0.7)),
    View((-15, -15), -3, 1.35, (0.7, 0.7)), View((0, 5), 91, 1.15),
)  # fmt: skip


def _framed(light: np.ndarray, per_mm: float) -> Art:
    rim = int(per_mm * RIM_MM)
    size = (light.shape[1] / per_mm, light.shape[0] / per_mm)
    return Art(np.pad(light, rim, constant_values=BENCH).astype(np.float32), per_mm, size)


@functools.cache
def card(size: str, per_mm: float = 20.0) -> Art:
    png = Image.open(io.BytesIO(card_png(CARD_SIZES[size], per_mm * 25.4)))
    art = np.asarray(png, float) / 255
    paper = art[:, :, 3]
    face = INK + (PAPER - INK) * art[:, :, 0]
    return _framed(BENCH * (1 - paper) + face * paper, per_mm)


@functools.cache
def chessboard(columns: int, rows: int, square_mm: float = 12.0, per_mm: float = 10.0) -> Art:
    """Of so many inner corners, with a white rim of one square."""
    side = int(square_mm * per_mm)
    black = (np.add.outer(np.arange(rows + 1), np.arange(columns + 1)) % 2 == 0).astype(float)
    light = PAPER - (PAPER - INK) * np.kron(black, np.ones((side, side)))
    return _framed(np.pad(light, side, constant_values=PAPER), per_mm)


@functools.cache
def charuco(columns: int, rows: int, family: int, legacy: bool = False) -> Art:
    board = cv2.aruco.CharucoBoard(
        (columns, rows), 1.0, 0.7, cv2.aruco.getPredefinedDictionary(family)
    )
    board.setLegacyPattern(legacy)
    side = 140
    face = np.asarray(board.generateImage((columns * side, rows * side)), float) / 255
    light = np.pad(INK + (PAPER - INK) * face, side // 2, constant_values=PAPER)
    return _framed(light, side / 12.0)


def shot(art: Art, view: View, lens: Lens = LENS, size: tuple[int, int] = SIZE) -> np.ndarray:
    """(h, w) sRGB codes."""
    straight = straight_places(lens, size)
    back = np.linalg.inv(homography(art, view, lens, size))
    ends = straight @ back[:, :2].T + back[:, 2]
    place = ends[..., :2] / ends[..., 2:] * art.per_mm + int(art.per_mm * RIM_MM) - 0.5
    down, right = np.gradient(place, axis=(0, 1))
    light = np.zeros(size[::-1], np.float32)
    steps = (np.arange(FINE) + 0.5) / FINE - 0.5
    for dx in steps:
        for dy in steps:
            at = (place + dx * right + dy * down).astype(np.float32)
            light += cv2.remap(art.light, at, None, cv2.INTER_LINEAR, borderValue=BENCH)
    light = cv2.GaussianBlur(light / FINE**2, (0, 0), 0.8)
    rng = np.random.default_rng(5)
    light = np.clip(light + rng.normal(0, 0.003, light.shape), 0, 1)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return (coded * 255 + 0.5).astype(np.uint8)


@functools.cache
def straight_places(lens: Lens, size: tuple[int, int]) -> np.ndarray:
    """(h, w, 2) where a lens without distortion would have each pixel."""
    x, y = np.meshgrid(np.arange(size[0]), np.arange(size[1]))
    straight = lens.straight(np.column_stack([x.ravel(), y.ravel()]).astype(float))
    return straight.reshape(size[1], size[0], 2)


def homography(art: Art, view: View, lens: Lens, size: tuple[int, int]) -> np.ndarray:
    """(3, 3) millimetres from the target's upper left corner to the straight picture."""
    ax, ay, az = np.radians([*view.tilt_deg, view.roll_deg])
    rx = np.array([[1, 0, 0], [0, np.cos(ax), -np.sin(ax)], [0, np.sin(ax), np.cos(ax)]])
    ry = np.array([[np.cos(ay), 0, np.sin(ay)], [0, 1, 0], [-np.sin(ay), 0, np.cos(ay)]])
    rz = np.array([[np.cos(az), -np.sin(az), 0], [np.sin(az), np.cos(az), 0], [0, 0, 1]])
    turn = rx @ ry @ rz
    focal, (cx, cy) = lens.focal_px[0], lens.centre_px
    wide, high = np.abs(rz[:2, :2]) @ art.size_mm
    away = view.away * focal * max(wide / size[0], high / size[1])
    aim = (np.array(view.aim) * size - (cx, cy)) / focal * away
    middle = np.array(art.size_mm) / 2
    pose = np.column_stack([turn[:, 0], turn[:, 1], np.array([*aim, away]) - turn[:, :2] @ middle])
    return np.array([[focal, 0, cx], [0, focal, cy], [0, 0, 1.0]]) @ pose


def write(path: Path, picture: np.ndarray, exif: dict[int, Any] | None = None) -> Path:
    """A JPEG file with EXIF; tags from 0x9000 on go where those of the shot belong."""
    written = Image.Exif()
    for tag, value in (exif or {}).items():
        if tag >= 0x9000:
            written.get_ifd(0x8769)[tag] = value
        else:
            written[tag] = value
    Image.fromarray(picture).save(path, "JPEG", quality=95, exif=written)
    return path
