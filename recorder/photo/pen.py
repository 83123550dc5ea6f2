"""Colours, type and strokes of the overlay: ours, and readable for colour-blind people.

Blue, yellow and vermilion differ in lightness as well as in hue, after Okabe and Ito, "Color
Universal Design" (2008); a decision always stands in words and as a shape too.
"""

from __future__ import annotations

import functools
import unicodedata
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from recorder.model.measurement import Decision
from recorder.resources import shipped

Array = NDArray[np.float64]
Colour = tuple[int, int, int]

PAPER: Colour = (252, 252, 250)
TEXT: Colour = (28, 32, 38)
QUIET: Colour = (98, 106, 116)
RULE: Colour = (214, 218, 222)
WHITE: Colour = (255, 255, 255)
EDGE: Colour = (255, 255, 255)
SHADE: Colour = (12, 16, 22)

DECISION_COLOUR: dict[Decision, Colour] = {
    Decision.WITHIN: (0, 92, 158),
    Decision.OUTSIDE: (190, 60, 0),
    Decision.UNDECIDED: (122, 88, 0),
}
# gap as a share of its limit -> colour; lighter towards the limit, dark red beyond it
_RAMP: tuple[tuple[float, Colour], ...] = (
    (0.0, (0, 84, 150)),
    (0.5, (86, 180, 233)),
    (0.9, (240, 228, 66)),
    (1.0, (240, 150, 30)),
    (1.05, (213, 74, 0)),
    (2.0, (140, 20, 30)),
)


def gap_colour(share: float) -> Colour:
    """Colour for a gap that is ``share`` of its limit."""
    at = [stop for stop, _ in _RAMP]
    red, green, blue = (
        round(float(np.interp(share, at, [colour[i] for _, colour in _RAMP]))) for i in range(3)
    )
    return red, green, blue


@functools.cache
def font(size: int, bold: bool = False) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """The report's typeface; Pillow's own where it is not installed."""
    name = "Inter-SemiBold.otf" if bold else "Inter-Regular.otf"
    try:
        return ImageFont.truetype(str(shipped("report_templates") / "fonts" / name), size)
    except OSError:
        return ImageFont.load_default(size)


_ABSENT = "\uffff"  # never a character, so that every font draws its sign for a missing one


@functools.cache
def _has_glyph(character: str) -> bool:
    face = font(40)
    return bytes(face.getmask(character)) != bytes(face.getmask(_ABSENT))


def drawable(text: str) -> str:
    """The text with □ for what the typeface lacks, such as emoji, and without what only joins or
    varies the characters beside it.
    """
    return "".join(_shown(character) for character in unicodedata.normalize("NFC", text))


def _shown(character: str) -> str:
    kind = unicodedata.category(character)
    if kind == "Cf" or unicodedata.name(character, "").startswith("VARIATION SELECTOR"):
        return ""
    if _has_glyph(character):
        return character
    return "" if kind in ("Mn", "Me") else "□"


@dataclass(frozen=True)
class Pen:
    """Draws on ``image``; points are pixels."""

    image: Image.Image

    @property
    def draw(self) -> ImageDraw.ImageDraw:
        return ImageDraw.Draw(self.image)

    def line(self, points: Array, colour: Colour, width: int, halo: int = 0, dash: int = 0) -> None:
        """A polyline (n, 2), with a dark rim of ``halo`` pixels, broken into dashes if wanted."""
        pieces = _dashes(points, dash) if dash else [points]
        for piece in pieces:
            flat = [(float(x), float(y)) for x, y in piece]
            if halo:
                self.draw.line(flat, fill=SHADE, width=width + 2 * halo, joint="curve")
        for piece in pieces:
            flat = [(float(x), float(y)) for x, y in piece]
            self.draw.line(flat, fill=colour, width=width, joint="curve")

    def ring(self, centre: Array, radius: float, colour: Colour, width: int) -> None:
        x, y = centre
        for reach, ink, thick in ((radius + 2, SHADE, width + 4), (radius, colour, width)):
            box = (x - reach, y - reach, x + reach, y + reach)
            self.draw.ellipse(box, outline=ink, width=thick)

    def label(self, at: tuple[float, float], text: str, size: int, anchor: str = "mm") -> None:
        """White text on a dark plate."""
        text = drawable(text)
        left, top, right, bottom = self.draw.textbbox(at, text, font(size, True), anchor=anchor)
        pad = size * 0.32
        box = (left - pad, top - pad, right + pad, bottom + pad)
        self.draw.rounded_rectangle(box, radius=size * 0.25, fill=SHADE)
        self.draw.text(at, text, WHITE, font(size, True), anchor=anchor)

    def text(
        self,
        at: tuple[float, float],
        text: str,
        size: int,
        colour: Colour = TEXT,
        bold: bool = False,
        anchor: str = "ls",
    ) -> None:
        self.draw.text(at, drawable(text), colour, font(size, bold), anchor=anchor)

    def arrow_line(self, begin: Array, end: Array, colour: Colour, width: int) -> None:
        """A dimension line with a tick across each end."""
        along = (end - begin) / np.linalg.norm(end - begin)
        tick = np.array([-along[1], along[0]]) * width * 4
        self.line(np.array([begin, end]), colour, width, halo=2)
        for point in (begin, end):
            self.line(np.array([point - tick, point + tick]), colour, width, halo=2)

    def sign(self, centre: tuple[float, float], radius: float, decision: Decision | None) -> None:
        """The decision as a shape: tick, cross, question mark."""
        x, y = centre
        colour = DECISION_COLOUR[decision] if decision else QUIET
        self.draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=colour)
        stroke, r = max(2, round(radius * 0.24)), radius * 0.46
        if decision is Decision.WITHIN:
            points = [(x - r, y + 0.05 * r), (x - 0.25 * r, y + 0.75 * r), (x + r, y - 0.7 * r)]
            self.draw.line(points, fill=WHITE, width=stroke, joint="curve")
        elif decision is Decision.OUTSIDE:
            self.draw.line([(x - r, y - r), (x + r, y + r)], fill=WHITE, width=stroke)
            self.draw.line([(x - r, y + r), (x + r, y - r)], fill=WHITE, width=stroke)
        else:
            mark = "?" if decision else "–"
            self.draw.text((x, y), mark, WHITE, font(round(radius * 1.4), True), anchor="mm")


def _dashes(points: Array, dash: int) -> list[Array]:
    """A straight line of two points in dashes and equal breaks."""
    begin, end = points[0], points[-1]
    length = float(np.linalg.norm(end - begin))
    along = (end - begin) / length
    starts = np.arange(0, length, 2 * dash)
    return [np.array([begin + along * s, begin + along * min(s + dash, length)]) for s in starts]
