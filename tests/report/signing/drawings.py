"""Signatures as a person draws them on a device, and pictures that are none."""

import io
import random

from PIL import Image, ImageDraw


def scribble(size: tuple[int, int] = (900, 240), ground: int = 255, ink: int = 0) -> Image.Image:
    """Loops from left to right, the same every time."""
    dice = random.Random(4817)
    picture = Image.new("L", size, ground)
    width, height = size
    step = width // 24
    points = [
        (x, height // 2 + dice.randint(-height // 3, height // 3))
        for x in range(step, width - step, step)
    ]
    ImageDraw.Draw(picture).line(points, fill=ink, width=max(height // 60, 2), joint="curve")
    return picture


def as_bytes(picture: Image.Image, kind: str = "PNG", **options: object) -> bytes:
    file = io.BytesIO()
    picture.save(file, kind, **options)  # type: ignore[arg-type]
    return file.getvalue()
