"""Drawing with SVG: escaped text of a known width, lines and marks. Same strokes, same bytes.

No style sheet stands in a picture: what a browser, WeasyPrint and a viewer all know are attributes.
Type is 12 and 11 units high, so that a picture 360 wide can be read on a phone at its own size, and
one 720 wide on a page of 176 mm, where it becomes 8.3 and 7.6 points.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape, quoteattr

from recorder.knowhow.charts.look import Look

# The report's own tones (report_templates/report.css).
INK = "#17212b"
QUIET = "#56636f"
RULE = "#c8d0d6"
FILL = "#e3e9ea"
BEHIND = "#86939a"  # behind the points, and yet told from the paper: 3 to 1 (WCAG 2.2, 1.4.11)
PAPER = "#ffffff"

TYPE = 12.0
SMALL = 11.0
LINE = 16.0
FACE = "Seamnote, Inter, system-ui, sans-serif"

# Around the name that a stranger wrote: what it holds turns nothing around it (Unicode UAX #9).
ISOLATE, END = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
_TURNING = {*map(chr, range(0x202A, 0x202F)), *map(chr, range(0x2066, 0x206A)), "\u200e", "\u200f"}


def name(text: str, most: int = 40) -> str:
    """A stranger's name fit for a title: on one line, cut, without what turns or breaks text."""
    line = " ".join("".join(map(_seen, text)).split())
    cut = line if len(line) <= most else line[: most - 1].rstrip() + "…"
    return f"{ISOLATE}{cut}{END}"


def _seen(char: str) -> str:
    if char in _TURNING:
        return ""
    if char.isspace():
        return " "
    odd = unicodedata.category(char) in ("Cc", "Cs", "Co", "Cn")
    return "\N{WHITE SQUARE}" if odd else char


def width(text: str, size: float = TYPE) -> float:
    """Of a text, as its typeface has it on average, a little generous."""
    wide = sum(1.0 if unicodedata.east_asian_width(char) in "WF" else 0.52 for char in text)
    return size * wide


def shortened(text: str, most: float, size: float = TYPE) -> str:
    """As much of it as is that wide."""
    if width(text, size) <= most:
        return text
    kept = text
    while kept and width(kept + "…", size) > most:
        kept = kept[:-1]
    return kept.rstrip() + "…" + (END if ISOLATE in kept and END not in kept else "")


def in_lines(texts: Iterable[str], most: float, size: float = SMALL) -> list[str]:
    """Texts one after the other in lines that are so wide, broken between words."""
    lines: list[str] = []
    for text in texts:
        line = ""
        for word in text.split(" "):
            longer = f"{line} {word}" if line else word
            if line and width(longer, size) > most:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(shortened(line, most, size))
    return lines


def side_by_side(texts: Iterable[str], most: float) -> list[str]:
    """As many of the texts in a line as are so wide."""
    lines: list[str] = []
    for text in texts:
        longer = f"{lines[-1]} · {text}" if lines else text
        if lines and width(longer, SMALL) <= most:
            lines[-1] = longer
        else:
            lines.append(text)
    return lines


@dataclass
class Pen:
    """Collects the strokes of one picture."""

    look: Look
    strokes: list[str] = field(default_factory=list)

    def put(self, tag: str, /, **values: object) -> None:
        told = " ".join(
            f"{key.replace('_', '-')}={quoteattr(_figure(value))}" for key, value in values.items()
        )
        self.strokes.append(f"<{tag} {told}/>")

    def line(
        self, ends: Sequence[float], tone: str = INK, thick: float = 1.0, dash: str = ""
    ) -> None:
        x1, y1, x2, y2 = ends
        more = {"stroke_dasharray": dash} if dash else {}
        self.put("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=tone, stroke_width=thick, **more)

    def box(self, x: float, y: float, wide: float, high: float, tone: str) -> None:
        self.put("rect", x=x, y=y, width=wide, height=high, fill=tone)

    def path(self, d: str, fill: str = "none", stroke: str = "none", thick: float = 1.0) -> None:
        self.put("path", d=d, fill=fill, stroke=stroke, stroke_width=thick, stroke_linejoin="round")

    def way(self, points: Sequence[tuple[float, float]], tone: str, thick: float) -> None:
        """A line through all the points."""
        if len(points) > 1:
            steps = "L".join(f"{_figure(x)} {_figure(y)}" for x, y in points)
            self.path(f"M{steps}", stroke=tone, thick=thick)

    def dot(self, x: float, y: float, radius: float, tone: str, hollow: bool = False) -> None:
        if hollow:
            self.put("circle", cx=x, cy=y, r=radius, fill=PAPER, stroke=tone, stroke_width=1.2)
        else:
            self.put("circle", cx=x, cy=y, r=radius, fill=tone)

    def diamond(self, x: float, y: float, radius: float, tone: str, hollow: bool = False) -> None:
        r = _figure(radius)
        d = f"M{_figure(x)} {_figure(y - radius)}l{r} {r}l-{r} {r}l-{r} -{r}z"
        self.path(d, PAPER if hollow else tone, tone, 1.2)

    def head(self, x: float, y: float, up: bool) -> None:
        """The head of an arrow; y: of its base."""
        tip = -7 if up else 7
        self.path(f"M{_figure(x - 4)} {_figure(y)}h8l-4 {tip}z", INK)

    def cross(self, x: float, y: float, radius: float, tone: str) -> None:
        two = _figure(2 * radius)
        d = f"M{_figure(x - radius)} {_figure(y - radius)}l{two} {two}m0 -{two}l-{two} {two}"
        self.path(d, stroke=tone, thick=1.8)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        *,
        size: float = SMALL,
        tone: str = INK,
        anchor: str = "start",
        bold: bool = False,
    ) -> None:
        """y: of the line on which the letters stand."""
        held = escape(text).replace(ISOLATE, '<tspan unicode-bidi="isolate">')
        held = held.replace(END, "</tspan>")
        weight = ' font-weight="600"' if bold else ""
        self.strokes.append(
            f'<text x="{_figure(x)}" y="{_figure(y)}" font-size="{_figure(size)}" fill="{tone}" '
            f'text-anchor="{anchor}"{weight}>{held}</text>'
        )

    def picture(self, high: float, title: str, told: str) -> str:
        """The whole of it. title, told: what it is and what it shows, for a screen reader."""
        title, told = (it.replace(ISOLATE, "").replace(END, "") for it in (title, told))
        wide, high = self.look.width, round(high)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" '
            f'height="{high}" role="img" aria-labelledby="title told" font-family="{FACE}">'
            f'<title id="title">{escape(title)}</title><desc id="told">{escape(told)}</desc>'
            f'<rect width="{wide}" height="{high}" fill="{PAPER}"/>{"".join(self.strokes)}</svg>\n'
        )


def _figure(value: object) -> str:
    """A number in as few digits as a hundredth of a unit needs; a text as it is."""
    if isinstance(value, float):
        return f"{value:z.2f}".rstrip("0").rstrip(".")
    return str(value)
