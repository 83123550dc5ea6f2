"""Renders made-up photos of a belt splice with known truth. They are NOT photographs.

The scene: a bench, a flat belt with a finger seam, and the reference card around the splice, seen
by a pinhole camera with blur, noise, uneven light and JPEG. No code but the art of the card is
shared with the estimator, but two assumptions are: unless ``Look`` says otherwise the blur is
Gaussian, and it acts in linear light that is then coded as sRGB. Scenes with a defocus disc and
sharpening leave that ground; real cameras may leave it further. Shapes are drawn by the exact
share of each pixel that they cover, in linear light, so that the truth is not moved by the drawing.

World coordinates are millimetres: the origin at the splice centre, x along the belt, y across it
(down in the picture), z towards the camera; z = 0 is the top face of the belt.
"""

from __future__ import annotations

import functools
import io
import math
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from recorder.photo.card import card_png
from recorder.photo.layout import CARD_SIZES

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Camera:
    """width, height, focal_px; distance_mm to the splice centre; tilts about the belt's length
    and across it, and roll, in degrees; aim_mm: where the middle of the picture points;
    k1: radial distortion of the lens over the half diagonal.
    """

    width: int = 2600
    height: int = 1950
    focal_px: float = 2300.0
    distance_mm: float = 210.0
    tilt_x_deg: float = 4.0
    tilt_y_deg: float = -3.0
    roll_deg: float = 2.0
    aim_mm: tuple[float, float] = (0.0, 0.0)
    k1: float = 0.0


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


@dataclass(frozen=True)
class Look:
    """The rest of the picture. blur_px: Gaussian sigma. defocus_px: radius of the disc to which
    a lens out of focus spreads a point, before that. sharpen: share of an unsharp mask in the
    camera's own coding.
    """

    blur_px: float = 0.75
    defocus_px: float = 0.0
    noise: float = 0.004
    exposure: float = 0.95
    gradient: float = 0.18
    vignette: float = 0.22
    jpeg_quality: int = 90
    bench: str = "wood"
    glare: float = 0.0
    sharpen: float = 0.0
    seed: int = 1


@dataclass(frozen=True)
class Scene:
    """card_on: 'belt', 'bench' or '' for none. print_scale: true / nominal size of its print."""

    camera: Camera = field(default_factory=Camera)
    belt: Belt = field(default_factory=Belt)
    look: Look = field(default_factory=Look)
    card: str = "M"
    card_on: str = "belt"
    print_scale: tuple[float, float] = (1.0, 1.0)
    card_shift_mm: tuple[float, float] = (0.0, 0.0)
    card_turn_deg: float = 0.0


def truth(scene: Scene) -> dict[str, float]:
    """What a perfect measurement would give, from the scene's own numbers."""
    belt = scene.belt
    gaps = [_ends(belt, k) for k in range(_flanks(belt))]
    return {
        "gap_max": max(max(pair) for pair in gaps),
        "gap_mean": float(np.mean(gaps)),
        "belt_width": belt.width_mm,
        "splice_width": belt.width_mm,
        "edge_offset": abs(belt.offset_mm),
        "skew": abs(belt.skew_deg),
        "finger_count": round(belt.width_mm / belt.pitch_mm),
        "finger_pitch": belt.pitch_mm,
    }


def jpeg(scene: Scene) -> bytes:
    """The finished picture as a JPEG file."""
    picture = Image.fromarray(render(scene))
    file = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "Rendered by demo_media/scene.py; not a photograph"
    picture.save(file, "JPEG", quality=scene.look.jpeg_quality, subsampling="4:2:0", exif=exif)
    return file.getvalue()


def render(scene: Scene) -> NDArray[np.uint8]:
    """(h, w, 3) sRGB, red green blue."""
    camera, look = scene.camera, scene.look
    rng = np.random.default_rng(look.seed)
    rays = _rays(camera)
    strips = [
        _strip(scene, rays, top, min(top + 200, camera.height))
        for top in range(0, camera.height, 200)
    ]
    light = np.concatenate(strips)
    light = _lit(light, camera, look)
    if look.defocus_px:
        light = cv2.filter2D(light, -1, _disc(look.defocus_px))
    for channel in range(3):
        light[:, :, channel] = cv2.GaussianBlur(light[:, :, channel], (0, 0), look.blur_px)
    if look.glare:
        light += look.glare * _spot(camera)[:, :, None]
    shot = np.sqrt(np.maximum(light, 0) * look.noise**2 * 3 + look.noise**2 * 0.3)
    light += rng.standard_normal(light.shape, np.float32) * shot
    coded = _srgb(light)
    if look.sharpen:
        soft = cv2.GaussianBlur(coded, (0, 0), 1.4)
        coded = coded + look.sharpen * (coded - soft)
    return (np.clip(coded, 0, 1) * 255 + 0.5).astype(np.uint8)


# --- geometry ---------------------------------------------------------------------------------


def _rotation(camera: Camera) -> NDArray[np.float64]:
    ax, ay, az = np.radians([camera.tilt_x_deg, camera.tilt_y_deg, camera.roll_deg])
    rx = np.array([[1, 0, 0], [0, np.cos(ax), -np.sin(ax)], [0, np.sin(ax), np.cos(ax)]])
    ry = np.array([[np.cos(ay), 0, np.sin(ay)], [0, 1, 0], [-np.sin(ay), 0, np.cos(ay)]])
    rz = np.array([[np.cos(az), -np.sin(az), 0], [np.sin(az), np.cos(az), 0], [0, 0, 1]])
    return np.asarray(rx @ ry @ rz)


def _rays(camera: Camera) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Camera centre, and (h, w, 3) directions with unit depth, in world axes (depth is -z)."""
    v, u = np.mgrid[0 : camera.height, 0 : camera.width].astype(np.float64)
    x = (u - (camera.width - 1) / 2) / camera.focal_px
    y = (v - (camera.height - 1) / 2) / camera.focal_px
    if camera.k1:
        corner = np.hypot(camera.width, camera.height) / 2 / camera.focal_px
        stretch = 1 + camera.k1 * (x * x + y * y) / corner**2
        x, y = x / stretch, y / stretch
    turn = _rotation(camera)
    flat = np.stack([x, y, np.ones_like(x)], axis=-1) @ turn.T
    flat[..., 2] *= -1
    axis = turn @ np.array([0, 0, 1.0]) * (1, 1, -1)
    centre = np.array([*camera.aim_mm, 0.0]) - axis * camera.distance_mm
    return centre, flat


def _hit(
    rays: tuple[NDArray[np.float64], NDArray[np.float64]], top: int, bottom: int, z: float
) -> tuple[Array, Array]:
    """Where the rays of some rows meet the plane at height z."""
    centre, directions = rays
    part = directions[top:bottom]
    reach = (z - centre[2]) / part[..., 2]
    x = centre[0] + reach * part[..., 0]
    y = centre[1] + reach * part[..., 1]
    return x.astype(np.float32), y.astype(np.float32)


def _turned(x: Array, y: Array, degrees: float, shift: tuple[float, float]) -> tuple[Array, Array]:
    """Coordinates in a frame that is turned by ``degrees`` and moved by ``shift``."""
    c, s = np.float32(np.cos(np.radians(degrees))), np.float32(np.sin(np.radians(degrees)))
    x, y = x - np.float32(shift[0]), y - np.float32(shift[1])
    return c * x + s * y, c * y - s * x


def _pixel_mm(x: Array, y: Array) -> float:
    """Size of a pixel on the plane, middle of the strip."""
    right = float(np.median(np.hypot(np.diff(x, axis=1), np.diff(y, axis=1))))
    if len(x) < 2:
        return right
    down = float(np.median(np.hypot(np.diff(x, axis=0), np.diff(y, axis=0))))
    return math.sqrt(right * down)


def _cover(depth_mm: Array, pixel_mm: float) -> Array:
    """Share of a pixel inside an edge which its centre is ``depth_mm`` inside of."""
    return np.clip(depth_mm / pixel_mm + 0.5, 0, 1)


# --- belt -------------------------------------------------------------------------------------


def _flanks(belt: Belt) -> int:
    return round(2 * belt.width_mm / belt.pitch_mm)


def _ends(belt: Belt, flank: int) -> tuple[float, float]:
    gap = belt.gaps_mm[flank % len(belt.gaps_mm)]
    return gap if isinstance(gap, tuple) else (gap, gap)


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
        ends = np.array([_ends(belt, i) for i in range(_flanks(belt))], np.float32)
        pick = np.clip(k, 0, len(ends) - 1)
        share = np.clip(along / length, 0, 1)
        wide = ends[pick, 0] * (1 - share) + ends[pick, 1] * share
        beyond = np.maximum(np.maximum(-along, along - length), 0)
        distance = np.hypot(across, beyond)
        inner = _cover(wide / 2 - distance, pixel_mm) + _cover(wide / 2 + distance, pixel_mm) - 1
        gap = np.maximum(gap, np.clip(inner, 0, 1))
    wave = np.abs((place % 2) - 1)  # 1 at an even index, 0 at an odd one
    seam_x = belt.finger_mm * (0.5 - wave)
    return gap, x - seam_x.astype(np.float32)


def _outline(belt: Belt, x: Array, y: Array) -> Array:
    """Depth inside the belt's edges, per pixel; each end with its own edges."""
    half = belt.width_mm / 2
    place = (y + half - belt.phase_mm) / (belt.pitch_mm / 2)
    right = x > belt.finger_mm * (0.5 - np.abs((place % 2) - 1))
    angle = np.radians(belt.skew_deg)
    y_right = (y - belt.offset_mm) * np.cos(angle) - x * np.sin(angle)
    own = np.where(right, y_right, y)
    return np.asarray(half - np.abs(own), np.float32)


def _strip(
    scene: Scene,
    rays: tuple[NDArray[np.float64], NDArray[np.float64]],
    top: int,
    bottom: int,
) -> Array:
    """(rows, w, 3) linear light before lens and lamp effects."""
    belt, look = scene.belt, scene.look
    x, y = _hit(rays, top, bottom, 0.0)
    pixel = _pixel_mm(x, y)
    bx, by = _turned(x, y, belt.turn_deg, belt.shift_mm)
    floor_x, floor_y = _hit(rays, top, bottom, -belt.thickness_mm)
    gx, gy = _turned(floor_x, floor_y, belt.turn_deg, belt.shift_mm)
    bench = _bench(look, floor_x, floor_y)
    fall = belt.thickness_mm * 1.1
    shadow = np.clip(_outline(belt, gx - fall, gy - fall) / 1.6 + 0.6, 0, 1) * 0.62
    near = np.exp(np.minimum(_outline(belt, gx, gy), 0) / 2.2) * 0.25
    near, shadow = near * min(1, belt.thickness_mm), shadow * min(1, belt.thickness_mm)
    light = bench * (1 - np.maximum(shadow, near))[:, :, None]
    if scene.card and scene.card_on == "bench":
        light = _with_card(scene, light, floor_x, floor_y, pixel, lift_mm=0.3)
        light *= (1 - 0.5 * np.clip(_outline(belt, gx - fall, gy - fall) / 1.6 + 0.6, 0, 1))[
            :, :, None
        ]
    mid_x, mid_y = _hit(rays, top, bottom, -belt.thickness_mm / 2)
    mx, my = _turned(mid_x, mid_y, belt.turn_deg, belt.shift_mm)
    wall = np.maximum(_cover(_outline(belt, gx, gy), pixel), _cover(_outline(belt, mx, my), pixel))[
        :, :, None
    ]
    side = np.array(belt.colour, np.float32) * 0.42
    light = light * (1 - wall) + side * wall
    top_face = _cover(_outline(belt, bx, by), pixel)[:, :, None]
    light = light * (1 - top_face) + _belt_light(belt, bx, by, pixel, look.seed) * top_face
    if scene.card and scene.card_on == "belt":
        light = _with_card(scene, light, x, y, pixel, lift_mm=1.2)
    return light


def _belt_light(belt: Belt, x: Array, y: Array, pixel: float, seed: int) -> Array:
    gap, signed = _seam(belt, x, y, pixel)
    colour = np.broadcast_to(np.array(belt.colour, np.float32), (*x.shape, 3))
    if belt.second_colour:
        right = _cover(signed * 0.16, pixel)[:, :, None]
        colour = colour * (1 - right) + np.array(belt.second_colour, np.float32) * right
    cloth = _noise(x * 1.7, y * 1.7, seed + 3) * 0.6 + _noise(x * 0.13, y * 0.2, seed + 4)
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


# --- bench, card, light -----------------------------------------------------------------------


@functools.cache
def _lattice(seed: int) -> Array:
    """(513, 513) repeatable numbers in -1..1, the last row and column equal to the first."""
    numbers = np.random.default_rng(seed + 4711).uniform(-1, 1, (512, 512)).astype(np.float32)
    return np.pad(numbers, ((0, 1), (0, 1)), mode="wrap")


def _noise(x: Array, y: Array, seed: int) -> Array:
    """Smooth value noise in -1..1 with features of unit size, repeating after 512 units."""
    fx, fy = np.floor(x), np.floor(y)
    tx, ty = x - fx, y - fy
    column = fx % 512 + tx * tx * (3 - 2 * tx)
    row = fy % 512 + ty * ty * (3 - 2 * ty)
    return np.asarray(cv2.remap(_lattice(seed), column, row, cv2.INTER_LINEAR), np.float32)


def _bench(look: Look, x: Array, y: Array) -> Array:
    if look.bench == "white":
        return np.full((*x.shape, 3), 0.8, np.float32)
    if look.bench == "steel":
        brushed = _noise(x * 0.05, y * 3.0, look.seed) * 0.03 + _noise(x * 0.3, y * 9.0, 5) * 0.03
        tone = 0.33 * (1 + brushed)
        return tone[:, :, None] * np.array([0.97, 1.0, 1.04], np.float32)
    plank = np.floor((y + 31) / 86)
    bend = _noise(x * 0.012, y * 0.03, look.seed + 11) * 9
    shade = _lattice(look.seed + 12)[0][plank.astype(int) % 512]
    rings = np.sin((y + bend + shade * 40) * 1.15 + _noise(x * 0.02, y * 0.6, 13) * 1.4)
    fibre = _noise(x * 0.10, y * 4.5, 14) * 0.5 + _noise(x * 0.35, y * 11.0, 15) * 0.5
    tone = 0.23 * (1 + 0.10 * shade + 0.13 * rings + 0.14 * fibre)
    joint = np.abs((y + 31) - plank * 86)
    tone = tone * (1 - 0.8 * np.exp(-((joint / 0.5) ** 2)))
    warm = np.stack([tone * 1.38, tone * 0.98, tone * 0.62], axis=-1)
    return np.asarray(warm, np.float32)


def _with_card(
    scene: Scene, light: Array, x: Array, y: Array, pixel: float, lift_mm: float
) -> Array:
    """The card over what is there, with the soft shadow of a thin board."""
    layout = CARD_SIZES[scene.card]
    cx, cy = _turned(x, y, scene.card_turn_deg, scene.card_shift_mm)
    at_x = cx / scene.print_scale[0] + layout.splice_centre_mm[0]
    at_y = cy / scene.print_scale[1] + layout.splice_centre_mm[1]
    fine = max(1, round(3 / pixel / 12))  # art pixels per picture pixel, about four
    per_mm = 12.0 * max(1, fine)
    box = max(1, round(pixel * per_mm))
    sharp, soft = _art(scene.card, per_mm, box)
    paper, ink = _sample(sharp, at_x, at_y, per_mm)
    fall = np.float32(lift_mm * 0.9)
    shade = _sample(soft, at_x - fall, at_y - fall, per_mm)[0]
    light = light * (1 - 0.38 * shade)[:, :, None]
    grain = 1 + 0.012 * _noise(x * 2.1, y * 2.1, 41)
    tone = 0.84 * (1 - ink) + 0.035 * ink
    white = np.array([1.0, 0.985, 0.95], np.float32)
    face = (tone * grain)[:, :, None] * white
    return light * (1 - paper)[:, :, None] + face * paper[:, :, None]


@functools.lru_cache(maxsize=4)
def _art(size: str, per_mm: float, box: int) -> tuple[Array, Array]:
    """(h, w, 2) paper and ink of the card as a pixel of ``box`` sees it, padded by 12 mm of
    nothing; and the same paper blurred, twice, for its shadow.
    """
    png = Image.open(io.BytesIO(card_png(CARD_SIZES[size], per_mm * 25.4)))
    art = np.asarray(png, np.float32) / 255
    pad = int(12 * per_mm)
    planes = np.pad(np.dstack([art[:, :, 3], 1 - art[:, :, 0]]), ((pad, pad), (pad, pad), (0, 0)))
    soft = cv2.GaussianBlur(planes[:, :, 0], (0, 0), 0.9 * per_mm)
    return cv2.blur(planes, (box, box)), np.dstack([soft, soft])


def _sample(art: NDArray[np.float32], x: Array, y: Array, per_mm: float) -> tuple[Array, Array]:
    pad = int(12 * per_mm)
    column, row = x * per_mm + pad - 0.5, y * per_mm + pad - 0.5
    got = cv2.remap(
        art,
        column.astype(np.float32),
        row.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=0,
    )
    return got[:, :, 0], got[:, :, 1]


def _disc(radius_px: float) -> Array:
    """Kernel of a defocused point: the share of each pixel that the disc covers, of sum 1."""
    reach, fine = math.ceil(radius_px) + 1, 16
    at = (np.arange((2 * reach + 1) * fine) + 0.5) / fine - reach - 0.5
    inside = np.hypot(at[:, None], at[None, :]) <= radius_px
    pixels = inside.reshape(2 * reach + 1, fine, 2 * reach + 1, fine).mean(axis=(1, 3))
    return np.asarray(pixels / pixels.sum(), np.float32)


def _spot(camera: Camera) -> Array:
    v, u = np.mgrid[0 : camera.height, 0 : camera.width].astype(np.float32)
    r = ((u / camera.width - 0.62) / 0.20) ** 2 + ((v / camera.height - 0.40) / 0.12) ** 2
    return np.exp(-r)


def _lit(light: Array, camera: Camera, look: Look) -> Array:
    v, u = np.mgrid[0 : camera.height, 0 : camera.width].astype(np.float32)
    u, v = u / camera.width - 0.5, v / camera.height - 0.5
    lamp = 1 + look.gradient * (-1.1 * u - 0.8 * v)
    corner = 1 - look.vignette * (u * u + v * v) * 2
    return light * (look.exposure * lamp * corner)[:, :, None].astype(np.float32)


def _srgb(light: Array) -> Array:
    """IEC 61966-2-1 encoding."""
    light = np.clip(light, 0, 1)
    return np.where(
        light <= 0.0031308, 12.92 * light, 1.055 * np.power(light, 1 / 2.4) - 0.055
    ).astype(np.float32)
