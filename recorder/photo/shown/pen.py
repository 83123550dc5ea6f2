"""Colours, type and strokes of overlay and plot: ours, and readable for colour-blind people.

Blue, yellow and vermilion differ in lightness as well as in hue, after Okabe and Ito, "Color
Universal Design" (2008); a decision always stands in words and as a shape too.
"""

from __future__ import annotations

import functools
import unicodedata
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from recorder.errors import OutputUnwritable
from recorder.model.measurement import Decision
from recorder.resources import shipped

Array = NDArray[np.float64]
Colour = tuple[int, int, int]

PAPER: Colour = (252, 252, 250)
TEXT: Colour = (28, 32, 38)
QUIET: Colour = (98, 106, 116)
RULE: Colour = (214, 218, 222)
WHITE: Colour = (255, 255, 255)
SHADE: Colour = (12, 16, 22)
SIGNAL: Colour = (240, 196, 40)

DECISION_COLOUR: dict[Decision, Colour] = {
    Decision.WITHIN: (0, 92, 158),
    Decision.OUTSIDE: (190, 60, 0),
    Decision.UNDECIDED: (122, 88, 0),
}


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


@functools.lru_cache(maxsize=512)
def drawable(text: str) -> str:
    """The text with □ for what the typeface lacks, such as emoji, and without what only joins or
    varies the characters beside it.
    """
    return "".join(_shown(character) for character in unicodedata.normalize("NFC", text))


def _shown(character: str) -> str:
    kind = unicodedata.category(character)
    if kind in ("Cc", "Cs", "Zl", "Zp"):
        return "□"
    if kind == "Cf" or unicodedata.name(character, "").startswith("VARIATION SELECTOR"):
        return ""
    if _has_glyph(character):
        return character
    return "" if kind in ("Mn", "Me") else "□"


def save(image: Image.Image, path: Path) -> None:
    """Write a picture as PNG or JPEG by the name of ``path``; raises OutputUnwritable."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.suffix.lower() in (".jpg", ".jpeg"):
            image.save(path, "JPEG", quality=90)
        else:
            image.save(path, "PNG", compress_level=3)
    except OSError as error:
        raise OutputUnwritable(path=path, detail=error.strerror or str(error)) from error


def width(text: str, size: int, bold: bool = False) -> float:
    """Of a text as it would be drawn, in pixels."""
    return float(font(size, bold).getlength(drawable(text)))


def shortened(text: str, size: int, room: float, bold: bool = False) -> str:
    """The text, with as much of its middle left out as ``room`` pixels ask for."""
    if width(text, size, bold) <= room:
        return text
    fits, too_many = 0, len(text)  # characters that are kept
    while too_many - fits > 1:
        middle = (fits + too_many) // 2
        if width(_without_middle(text, middle), size, bold) <= room:
            fits = middle
        else:
            too_many = middle
    return _without_middle(text, fits)


def _without_middle(text: str, kept: int) -> str:
    end = kept // 2
    return f"{text[: kept - end]}…{text[len(text) - end :]}"


def wrapped(text: str, size: int, room: float, bold: bool = False) -> list[str]:
    """The text in lines of at most ``room`` pixels; a longer word is shortened."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, size, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(shortened(word, size, room, bold))
    return lines


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

    def ring(self, centre: Array, radius: float, colour: Colour, width: int, rim: int = 2) -> None:
        """With a dark rim on both sides."""
        x, y = (float(c) for c in centre)
        for reach, ink, thick in ((radius + rim, SHADE, width + 2 * rim), (radius, colour, width)):
            box = (x - reach, y - reach, x + reach, y + reach)
            self.draw.ellipse(box, outline=ink, width=thick)

    def dot(self, centre: Array, radius: float) -> None:
        x, y = (float(c) for c in centre)
        for reach, ink in ((radius * 1.5, SHADE), (radius, WHITE)):
            self.draw.ellipse((x - reach, y - reach, x + reach, y + reach), fill=ink)

    def balloon(self, centre: Array, text: str, radius: float) -> None:
        """A letter in a dark disc with a light rim, as drawings name their dimensions."""
        x, y = (float(c) for c in centre)
        for reach, ink in ((radius, SHADE), (radius * 0.93, WHITE), (radius * 0.82, SHADE)):
            self.draw.ellipse((x - reach, y - reach, x + reach, y + reach), fill=ink)
        self.text((x, y), text, round(radius * 1.3), WHITE, bold=True, anchor="mm")

    def flag(self, centre: Array, text: str, radius: float) -> None:
        """A number in a light square with a dark rim: look here."""
        x, y = (float(c) for c in centre)
        for share, ink in ((0.96, SHADE), (0.82, SIGNAL)):
            reach = radius * share
            box = (x - reach, y - reach, x + reach, y + reach)
            self.draw.rounded_rectangle(box, radius=radius * 0.2, fill=ink)
        size = round(radius * (1.3 if len(text) == 1 else 1.1))
        self.text((x, y), text, size, SHADE, bold=True, anchor="mm")

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

    def fitted(
        self,
        at: tuple[float, float],
        text: str,
        size: int,
        room: float,
        colour: Colour = TEXT,
        bold: bool = False,
        anchor: str = "ls",
    ) -> None:
        """The text in ``room`` pixels: a little smaller if need be, and then shortened."""
        natural = max(width(text, size, bold), 1)
        size = max(round(size * 0.85), min(size, int(size * room / natural)))
        self.text(at, shortened(text, size, room, bold), size, colour, bold, anchor)

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
