"""A belt in the card's window drawn by its outlines, on a known plane: to try the finding alone.

Millimetres as on a card of size M, whose window runs from (10, 26) to (114, 138). Every outline is
filled at three times the photo's resolution and averaged, in linear light.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from recorder.photo.geometry.plane import Plane, apply

Array = NDArray[np.float64]
Colour = tuple[float, float, float]

WINDOW_MM = (10.0, 26.0, 114.0, 138.0)
CENTRE = np.array([62.0, 82.0])
_FINE = 3


@dataclass(frozen=True)
class Line:
    """Something drawn over belt and bench: corners in mm from the splice, width in mm (0: the
    outline is filled), share of the light that it leaves.
    """

    path: tuple[tuple[float, float], ...]
    width: float
    leaves: float


@dataclass(frozen=True)
class Drawn:
    """Linear light in blue, green, red. gaps: of the flanks in turn, mm along the normal.
    wide_tips: tips by number that stand open by so many mm along the belt. tip_mm: flat of a tip.
    at_mm: of the seam along the belt. shade: light left beside a line y = its first number, over
    a half-shade of its second. slot: None shows the bench.
    """

    width: float = 70.0
    at_y: float = 0.0
    turn_deg: float = 0.0
    offset: float = 0.0
    skew_deg: float = 0.0
    bow: float = 0.0
    pitch: float = 10.0
    finger: float = 30.0
    gaps: tuple[float, ...] = (0.4,)
    tip_mm: float = 1.2
    wide_tips: tuple[tuple[int, float], ...] = ()
    short_tips: tuple[tuple[int, float], ...] = ()
    seams_at: tuple[float, ...] = (0.0,)
    left: Colour = (0.44, 0.50, 0.30)
    right: Colour | None = None
    bench: Colour = (0.16, 0.2, 0.22)
    slot: Colour | None = (0.05, 0.05, 0.05)
    lines: tuple[Line, ...] = ()
    weave: tuple[float, float, float] = (0.5, 0.0, 0.0)
    slope: tuple[float, float] = (0.0, 0.0)
    scale: float = 10.0
    tilt: tuple[float, float] = (0.0, 0.0)
    blur_px: float = 1.0
    noise: float = 0.004
    quality: int = 90
    seed: int = 1


@dataclass(frozen=True)
class Photo:
    bgr: NDArray[np.uint8]
    grey: NDArray[np.uint8]
    plane: Plane


def draw(d: Drawn) -> Photo:
    size = (round(124 * d.scale), round(164 * d.scale))
    plane = Plane(_matrix(d), np.zeros((8, 8)), 0.05)
    light = np.broadcast_to(np.array(d.bench, np.float32), (size[1], size[0], 3)).copy()
    for piece, colour in zip(_pieces(d), _colours(d), strict=True):
        cover = _cover(plane, [piece + CENTRE], size)[..., None]
        light += cover * (np.array(colour, np.float32) * _cloth(d, plane, size)[..., None] - light)
    for line in d.lines:
        light *= (1 - (1 - line.leaves) * _cover(plane, _outlines(line), size))[..., None]
    if any(d.slope):
        x, y = _places(plane, size)
        light *= (1 + d.slope[0] * (x - 62) / 100 + d.slope[1] * (y - 82) / 100)[..., None]
    left, top, right, bottom = WINDOW_MM
    card = np.array([(0, 0), (124, 0), (124, 164), (0, 164), (0, 0), (left, top), (left, bottom),
                     (right, bottom), (right, top), (left, top)])  # fmt: skip
    light += _cover(plane, [card], size)[..., None] * (0.8 - light)
    light = np.asarray(cv2.GaussianBlur(light, (0, 0), d.blur_px), np.float32)
    rng = np.random.default_rng(d.seed)
    light += d.noise * rng.standard_normal(light.shape, np.float32)
    light = np.clip(light, 0, 1)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    _, file = cv2.imencode(
        ".jpg", (coded * 255 + 0.5).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, d.quality]
    )
    bgr = np.asarray(cv2.imdecode(file, cv2.IMREAD_COLOR), np.uint8)
    grey = np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2GRAY), np.uint8)
    return Photo(bgr, grey, plane)


def zigzag(d: Drawn, at: float = 0.0) -> Array:
    """(n, 2) middle of the slot, mm from the splice, from beyond the upper edge downwards."""
    half = d.pitch / 2
    count = int(np.ceil((d.width / 2 + d.pitch) / half))
    short = dict(d.short_tips)
    corners = []
    for k in range(-count, count + 1):
        side = 1.0 if k % 2 else -1.0
        x = at + side * (d.finger / 2 - short.get(k, 0.0))
        corners += [(x, k * half + 2.5 - d.tip_mm / 2), (x, k * half + 2.5 + d.tip_mm / 2)]
    return np.array(corners)


def _matrix(d: Drawn) -> Array:
    """The splice stays in the middle of the picture; tilt: change of scale, 1/m in x and y."""
    back, away = np.eye(3), np.eye(3)
    back[:2, 2], away[:2, 2] = d.scale * CENTRE, -CENTRE
    shape = np.diag([d.scale, d.scale, 1.0])
    shape[2, :2] = np.array(d.tilt) / 1000
    made = back @ shape @ away
    return np.asarray(made / made[2, 2])


def _colours(d: Drawn) -> list[Colour]:
    slot = d.bench if d.slot is None else d.slot
    right = d.right or d.left
    if not d.seams_at:
        return [d.left]
    return [slot, *[d.left] * len(d.seams_at), right]


def _pieces(d: Drawn) -> list[Array]:
    """Under the slots, then the ends of the belt from left to right."""
    if not d.seams_at:
        return [_end(d, None, None, False)]
    cuts = []
    for at in d.seams_at:
        middle = zigzag(d, at)
        cuts.append((_shifted(d, middle, -1), _shifted(d, middle, 1)))
    under = _end(d, cuts[0][0] - (0.3, 0), cuts[-1][1] + (0.3, 0), False)
    pieces = [under, _end(d, None, cuts[0][0], False)]
    for one, other in pairwise(cuts):
        pieces.append(_end(d, one[1], other[0], True))
    return [*pieces, _end(d, cuts[-1][1], None, True)]


def _shifted(d: Drawn, middle: Array, sign: int) -> Array:
    """One side of the slot: every piece of its middle moved along its normal, then met."""
    along = np.diff(middle, axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    wide, gaps = dict(d.wide_tips), []
    first = -(len(middle) // 2 - 1) // 2
    for i in range(len(normal)):
        tip = first + i // 2
        flank = d.gaps[(i // 2) % len(d.gaps)]
        gaps.append(wide.get(tip, flank) if i % 2 == 0 else flank)
    moved = [middle[0] + sign * normal[0] * gaps[0] / 2]
    for i in range(len(normal) - 1):
        a, b = middle[i + 1] + sign * normal[i : i + 2] * np.array(gaps[i : i + 2])[:, None] / 2
        t = np.linalg.solve(np.column_stack([along[i], -along[i + 1]]), b - a)[0]
        moved.append(a + t * along[i])
    moved.append(middle[-1] + sign * normal[-1] * gaps[-1] / 2)
    return np.array(moved)


def _end(d: Drawn, west: Array | None, east: Array | None, right: bool) -> Array:
    """Outline between two cuts, clipped to the belt's edges by its own rows."""
    half = d.width / 2
    beyond = 200.0
    west = np.array([(-beyond, -beyond), (-beyond, beyond)]) if west is None else west
    east = np.array([(beyond, -beyond), (beyond, beyond)]) if east is None else east
    outline = np.concatenate([east, west[::-1]])
    turn = np.radians(d.skew_deg if right else 0.0)
    shift = d.offset if right else 0.0
    for sign in (1.0, -1.0):
        outline = _clipped(outline, np.array([-np.sin(turn), np.cos(turn)]), shift, half, sign)
    following = np.roll(outline, -1, axis=0)
    share = np.linspace(0, 1, 40, endpoint=False)[:, None]
    fine = (outline[:, None] + share * (following - outline)[:, None]).reshape(-1, 2)
    fine[:, 1] += d.bow * (fine[:, 0] / 50) ** 2
    c, s = np.cos(np.radians(d.turn_deg)), np.sin(np.radians(d.turn_deg))
    return np.asarray(fine @ np.array([[c, s], [-s, c]]) + (0, d.at_y))


def _clipped(outline: Array, normal: Array, shift: float, half: float, sign: float) -> Array:
    """The part of an outline on the belt's side of one edge."""
    side = half - sign * (outline @ normal - shift)
    kept = []
    for p, q, a, b in zip(outline, np.roll(outline, -1, 0), side, np.roll(side, -1), strict=True):
        if a >= 0:
            kept.append(p)
        if (a >= 0) != (b >= 0):
            kept.append(p + (q - p) * a / (a - b))
    return np.array(kept)


def _outlines(line: Line) -> list[Array]:
    path = np.array(line.path) + CENTRE
    if not line.width:
        return [path]
    made = []
    for p, q in pairwise(path):
        along = (q - p) / np.linalg.norm(q - p)
        side = np.array([-along[1], along[0]]) * line.width / 2
        made.append(np.array([p - side, q - side, q + side, p + side]))
    return made


def _cover(plane: Plane, outlines: list[Array], size: tuple[int, int]) -> NDArray[np.float32]:
    """Share of every pixel inside any of the outlines.

    OpenCV fills the pixels that an outline touches as well, which is half a fine pixel too much;
    the outside filled in the same way is as much too large, and the mean of both is right.
    """
    fine = (size[0] * _FINE, size[1] * _FINE)
    everything = np.array([(-9, -9), (fine[0] + 9, -9), (fine[0] + 9, fine[1] + 9),
                           (-9, fine[1] + 9)])  # fmt: skip
    cover = np.zeros((size[1], size[0]), np.float32)
    for outline in outlines:
        px = (apply(plane.matrix, outline) + 0.5) * _FINE - 0.5
        px = np.clip(px, -6000, 20000)
        inner, outer = np.zeros((2, fine[1], fine[0]), np.uint8)
        drawn = np.round(px * 256).astype(np.int32)
        cv2.fillPoly(inner, [drawn], 255, shift=8)
        cv2.fillPoly(outer, [(everything * 256).astype(np.int32), drawn], 255, shift=8)
        twice = cv2.resize(cv2.addWeighted(inner, 0.5, 255 - outer, 0.5, 0), size,
                           interpolation=cv2.INTER_AREA)  # fmt: skip
        cover = np.maximum(cover, twice.astype(np.float32) / 255)
    return cover


def _places(plane: Plane, size: tuple[int, int]) -> tuple[NDArray[np.float32], ...]:
    rows, columns = np.mgrid[0 : size[1], 0 : size[0]]
    mm = plane.to_mm(np.column_stack([columns.ravel(), rows.ravel()]).astype(float))
    return tuple(mm.T.reshape(2, size[1], size[0]).astype(np.float32))


def _cloth(d: Drawn, plane: Plane, size: tuple[int, int]) -> NDArray[np.float32]:
    period, contrast, angle = d.weave
    if not contrast:
        return np.ones((size[1], size[0]), np.float32)
    x, y = _places(plane, size)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    wave = np.sin(2 * np.pi / period * (c * x + s * y)) * np.sin(
        2 * np.pi / period * (c * y - s * x)
    )
    return np.asarray(1 + contrast * wave, np.float32)
