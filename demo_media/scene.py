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
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from demo_media.belt import Belt, belt_light, flank_count, gap_ends, outline, seam_x
from demo_media.drawing import cover, lattice, pixel_size, turned, value_noise
from demo_media.optics import Camera, Look, hit, rays_of, shot
from recorder.photo.card.card import card_png
from recorder.photo.card.layout import CARD_SIZES

__all__ = ["Belt", "Camera", "Look", "Scene", "jpeg", "render", "truth"]

Array = NDArray[np.float32]


@dataclass(frozen=True)
class Scene:
    """card_on: 'belt', 'bench' or '' for none. print_scale: true / nominal size of its print.
    card_thickness_mm: of the card, so high lies its print."""

    camera: Camera = field(default_factory=Camera)
    belt: Belt = field(default_factory=Belt)
    look: Look = field(default_factory=Look)
    card: str = "M"
    card_on: str = "belt"
    print_scale: tuple[float, float] = (1.0, 1.0)
    card_shift_mm: tuple[float, float] = (0.0, 0.0)
    card_turn_deg: float = 0.0
    card_thickness_mm: float = 0.15


def truth(scene: Scene) -> dict[str, float]:
    """What a perfect measurement would give, from the scene's own numbers."""
    belt = scene.belt
    gaps = [gap_ends(belt, k) for k in range(flank_count(belt))]
    # of the right end against the left, where the seam leaves the belt
    lean = float(np.tan(np.radians(belt.skew_deg)))
    steps = [belt.offset_mm + lean * seam_x(belt, y) for y in (0.0, belt.width_mm)]
    return {
        "gap_max": max(max(pair) for pair in gaps),
        "gap_mean": float(np.mean(gaps)),
        "belt_width": belt.width_mm,
        "splice_width": belt.width_mm,
        "edge_offset": max(abs(step) for step in steps),
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
    camera = scene.camera
    rays = rays_of(camera)
    strips = [
        _strip(scene, rays, top, min(top + 200, camera.height))
        for top in range(0, camera.height, 200)
    ]
    return shot(np.concatenate(strips), camera, scene.look)


def _strip(
    scene: Scene,
    rays: tuple[NDArray[np.float64], NDArray[np.float64]],
    top: int,
    bottom: int,
) -> Array:
    """(rows, w, 3) linear light before lens and lamp effects."""
    belt, look = scene.belt, scene.look
    x, y = hit(rays, top, bottom, 0.0)
    pixel = pixel_size(x, y)
    bx, by = turned(x, y, belt.turn_deg, belt.shift_mm)
    floor_x, floor_y = hit(rays, top, bottom, -belt.thickness_mm)
    gx, gy = turned(floor_x, floor_y, belt.turn_deg, belt.shift_mm)
    bench = _bench(look, floor_x, floor_y)
    fall = belt.thickness_mm * 1.1
    shadow = np.clip(outline(belt, gx - fall, gy - fall) / 1.6 + 0.6, 0, 1) * 0.62
    near = np.exp(np.minimum(outline(belt, gx, gy), 0) / 2.2) * 0.25
    near, shadow = near * min(1, belt.thickness_mm), shadow * min(1, belt.thickness_mm)
    light = bench * (1 - np.maximum(shadow, near))[:, :, None]
    if scene.card and scene.card_on == "bench":
        print_x, print_y = hit(rays, top, bottom, scene.card_thickness_mm - belt.thickness_mm)
        light = _with_card(scene, light, print_x, print_y, pixel, lift_mm=0.3)
        light *= (1 - 0.5 * np.clip(outline(belt, gx - fall, gy - fall) / 1.6 + 0.6, 0, 1))[
            :, :, None
        ]
    mid_x, mid_y = hit(rays, top, bottom, -belt.thickness_mm / 2)
    mx, my = turned(mid_x, mid_y, belt.turn_deg, belt.shift_mm)
    wall = np.maximum(cover(outline(belt, gx, gy), pixel), cover(outline(belt, mx, my), pixel))[
        :, :, None
    ]
    side = np.array(belt.colour, np.float32) * 0.42
    light = light * (1 - wall) + side * wall
    top_face = cover(outline(belt, bx, by), pixel)[:, :, None]
    light = light * (1 - top_face) + belt_light(belt, bx, by, pixel, look.seed) * top_face
    if scene.card and scene.card_on == "belt":
        print_x, print_y = hit(rays, top, bottom, scene.card_thickness_mm)
        light = _with_card(scene, light, print_x, print_y, pixel, lift_mm=1.2)
    return light


def _bench(look: Look, x: Array, y: Array) -> Array:
    if look.bench == "white":
        return np.full((*x.shape, 3), 0.8, np.float32)
    if look.bench == "steel":
        brushed = (
            value_noise(x * 0.05, y * 3.0, look.seed) * 0.03
            + value_noise(x * 0.3, y * 9.0, 5) * 0.03
        )
        tone = 0.33 * (1 + brushed)
        return tone[:, :, None] * np.array([0.97, 1.0, 1.04], np.float32)
    plank = np.floor((y + 31) / 86)
    bend = value_noise(x * 0.012, y * 0.03, look.seed + 11) * 9
    shade = lattice(look.seed + 12)[0][plank.astype(int) % 512]
    rings = np.sin((y + bend + shade * 40) * 1.15 + value_noise(x * 0.02, y * 0.6, 13) * 1.4)
    fibre = value_noise(x * 0.10, y * 4.5, 14) * 0.5 + value_noise(x * 0.35, y * 11.0, 15) * 0.5
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
    cx, cy = turned(x, y, scene.card_turn_deg, scene.card_shift_mm)
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
    grain = 1 + 0.012 * value_noise(x * 2.1, y * 2.1, 41)
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
