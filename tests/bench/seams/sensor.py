"""Light on pixels to a file as a camera writes it: noise, tone, sharpening, JPEG and EXIF."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tests.bench.seams.camera import Camera
from tests.bench.seams.scene import Light, Sensor

Plane = NDArray[np.float32]

# How a picture is stored for each EXIF orientation, so that its reader must turn it back.
_STORED = {1: 0, 3: 2, 6: 1, 8: 3}


def coded(light: Plane, sensor: Sensor, lamp: Light) -> NDArray[np.uint8]:
    """(height, width, 3) linear light to sRGB, red first. Works in the array it is given."""
    rng = np.random.default_rng([sensor.seed, 9])
    light *= sensor.exposure
    if lamp.vignette > 0:
        light *= _vignette(*light.shape[:2], lamp.vignette)[..., None]
    if sensor.electrons > 0:
        noise = rng.standard_normal(light.shape, dtype=np.float32)
        if sensor.noise_px > 0:
            noise = cv2.GaussianBlur(noise, (0, 0), sensor.noise_px)
            noise /= noise.std()
        spread = np.clip(light, 0, None) / sensor.electrons + (sensor.read / sensor.electrons) ** 2
        light += noise * np.sqrt(spread)
    value = _curve(sensor.tone)[np.asarray(np.clip(light, 0, 1) * 65535 + 0.5, np.uint16)]
    if sensor.sharpen > 0:
        value = value + sensor.sharpen * (
            value - cv2.GaussianBlur(value, (0, 0), sensor.sharpen_px)
        )
    return np.asarray(np.clip(value * 255 + 0.5, 0, 255), np.uint8)


def _curve(tone: float) -> Plane:
    """sRGB (IEC 61966-2-1) and the camera's s-curve, for linear light in 65536 steps."""
    light = np.arange(65536) / 65535
    value = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(value + tone * (value * value * (3 - 2 * value) - value), np.float32)


def _vignette(rows: int, columns: int, loss: float) -> Plane:
    y = (np.arange(rows, dtype=np.float32) - rows / 2)[:, None] / np.hypot(rows, columns) * 2
    x = (np.arange(columns, dtype=np.float32) - columns / 2)[None, :] / np.hypot(rows, columns) * 2
    return np.asarray(1 - loss * (x * x + y * y), np.float32)


def save(picture: NDArray[np.uint8], path: Path, camera: Camera, sensor: Sensor) -> None:
    """Write the JPEG; the pixels are turned against the orientation that the EXIF tells."""
    stored = np.rot90(picture, _STORED[sensor.orientation])
    image = Image.fromarray(np.ascontiguousarray(stored))
    exif = Image.Exif()
    if sensor.exif != "none":
        exif[0x010F], exif[0x0110] = sensor.maker
        part = exif.get_ifd(0x8769)
        diagonal = float(np.hypot(camera.width, camera.height))
        thirty_five = camera.focal_px * 43.267 / diagonal
        part[0x920A] = round(thirty_five / 5.6, 2)
        part[0xA002], part[0xA003] = image.size
        if sensor.exif == "full":
            part[0xA405] = round(thirty_five)
    if sensor.orientation != 1:
        exif[0x0112] = sensor.orientation
    subsampling = {"4:4:4": 0, "4:2:0": 2}[sensor.chroma]
    image.save(path, quality=sensor.quality, subsampling=subsampling, exif=exif)
