"""Draw ``signature.png``: how the demo's invented customer signs on a device.

``python demo_media/make_signature.py`` writes it anew, always with the same bytes. The line comes
from two waves and is nobody's signature.
"""

from __future__ import annotations

from math import cos, pi, sin
from pathlib import Path

from PIL import Image, ImageDraw

WIDTH, HEIGHT, FINER = 900, 260, 4
STROKES = (
    # from x, to x (share of the width), turns, height of the loops at start and end (of the height)
    (0.04, 0.22, 1.5, 0.42, 0.34),
    (0.20, 0.60, 6.5, 0.16, 0.09),
    (0.58, 0.72, 2.0, 0.36, 0.24),
    (0.70, 0.97, 4.5, 0.11, 0.03),
)


def points(
    start: float, end: float, turns: float, first: float, last: float
) -> list[tuple[float, float]]:
    """Loops that run to the right: a circle whose middle moves, slanted as handwriting is."""
    steps = int(turns * 40)
    found = []
    for step in range(steps + 1):
        share = step / steps
        radius = first + (last - first) * share
        turn = 2 * pi * turns * share
        x = start + (end - start) * share + 0.25 * radius * sin(turn) * HEIGHT / WIDTH
        y = 0.56 - radius * cos(turn + 0.4)
        found.append(((x + 0.10 * (0.56 - y)) * WIDTH * FINER, y * HEIGHT * FINER))
    return found


def main() -> None:
    picture = Image.new("L", (WIDTH * FINER, HEIGHT * FINER), 255)
    pen = ImageDraw.Draw(picture)
    for stroke in STROKES:
        pen.line(points(*stroke), fill=25, width=5 * FINER, joint="curve")
    small = picture.resize((WIDTH, HEIGHT), Image.Resampling.LANCZOS)
    small.save(Path(__file__).with_name("signature.png"), optimize=True)


if __name__ == "__main__":
    main()
