"""Camera, lamp and lens of the rendered photos: rays, blur, noise and tone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

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


def shot(light: Array, camera: Camera, look: Look) -> NDArray[np.uint8]:
    """(h, w, 3) sRGB, red green blue, of the linear light before lens and lamp."""
    rng = np.random.default_rng(look.seed)
    light = _lit(light, camera, look)
    if look.defocus_px:
        light = cv2.filter2D(light, -1, _disc(look.defocus_px))
    for channel in range(3):
        light[:, :, channel] = cv2.GaussianBlur(light[:, :, channel], (0, 0), look.blur_px)
    if look.glare:
        light += look.glare * _spot(camera)[:, :, None]
    grain = np.sqrt(np.maximum(light, 0) * look.noise**2 * 3 + look.noise**2 * 0.3)
    light += rng.standard_normal(light.shape, np.float32) * grain
    coded = _srgb(light)
    if look.sharpen:
        soft = cv2.GaussianBlur(coded, (0, 0), 1.4)
        coded = coded + look.sharpen * (coded - soft)
    return (np.clip(coded, 0, 1) * 255 + 0.5).astype(np.uint8)


def _rotation(camera: Camera) -> NDArray[np.float64]:
    ax, ay, az = np.radians([camera.tilt_x_deg, camera.tilt_y_deg, camera.roll_deg])
    rx = np.array([[1, 0, 0], [0, np.cos(ax), -np.sin(ax)], [0, np.sin(ax), np.cos(ax)]])
    ry = np.array([[np.cos(ay), 0, np.sin(ay)], [0, 1, 0], [-np.sin(ay), 0, np.cos(ay)]])
    rz = np.array([[np.cos(az), -np.sin(az), 0], [np.sin(az), np.cos(az), 0], [0, 0, 1]])
    return np.asarray(rx @ ry @ rz)


def rays_of(camera: Camera) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
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


def hit(
    rays: tuple[NDArray[np.float64], NDArray[np.float64]], top: int, bottom: int, z: float
) -> tuple[Array, Array]:
    """Where the rays of some rows meet the plane at height z."""
    centre, directions = rays
    part = directions[top:bottom]
    reach = (z - centre[2]) / part[..., 2]
    x = centre[0] + reach * part[..., 0]
    y = centre[1] + reach * part[..., 1]
    return x.astype(np.float32), y.astype(np.float32)


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
