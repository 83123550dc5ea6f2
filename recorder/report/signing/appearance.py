"""What a signature looks like: a drawing, and below that of the customer the truth about it."""

from __future__ import annotations

import math
from datetime import datetime
from html import escape
from pathlib import Path

from recorder.report.content.pictures import SCHEME
from recorder.report.content.text import clean
from recorder.report.page import glyphs, weasy
from recorder.report.page import look as looks
from recorder.report.page.look import Look
from recorder.report.wording.wording import language_tag, say

LONGEST_NAME = 100  # characters

_FONT_PT, _LINE_PT = 6.0, 7.2
_CHARACTER_PT = 3.3  # width of an average one at that size, generously
_LEAST_PT = (142, 38)  # 50 mm by 13 mm
_FONT = "fonts/Inter-Medium.otf"
_DRAWING = f"{SCHEME}drawing.png"
_PAGE = """<html lang="{language}"><title>{title}</title><style>
{faces}
@page {{ size: {width}pt {height}pt; margin: 0 }}
html {{ font: {font}pt/{line}pt {families}; color: #17212b; overflow-wrap: anywhere }}
body, p {{ margin: 0 }}
img {{ position: absolute; left: 0; top: 0; width: {width}pt; height: {room}pt;
  object-fit: contain; object-position: 0 100%; image-rendering: crisp-edges }}
div {{ position: absolute; left: 0; bottom: 0; width: {width}pt }}
</style><img src="{drawing}" alt="{title}"><div>
<p><bdi>{name}</bdi>{time}</p>
<p>{manner}</p>
</div></html>"""

_OWN = 0.38  # of the height of the technician's field, from below: above stands what the page says
_OWN_PAGE = """<html><style>
@page {{ size: {width}pt {height}pt; margin: 0 }}
body {{ margin: 0 }}
img {{ position: absolute; left: 6pt; bottom: 2pt; width: {room}pt; height: {high}pt;
  object-fit: contain; object-position: 0 100%; image-rendering: crisp-edges }}
</style><img src="{drawing}" alt=""></html>"""


def own(drawing: bytes, size: tuple[float, float]) -> bytes:
    """A PDF with one page of that size in points: the technician's drawing, at its foot.

    drawing: PNG of ``recorder.report.signing.drawing``. Raises EngineMissing.
    """
    width, height = size
    html = _OWN_PAGE.format(
        drawing=_DRAWING,
        width=round(width, 2),
        height=round(height, 2),
        room=round(width - 12, 2),
        high=round(height * _OWN - 2, 2),
    )
    return weasy.patch(html, {_DRAWING: drawing})


def manner() -> str:
    """How the signature came about, as the page and the signature itself tell it."""
    return say("drawn on the device and witnessed by the technician")


def fits(width: float, height: float) -> bool:
    """Whether a field of that size in points has room for a drawing that can be told from another,
    and for the lines below it.
    """
    return width >= _LEAST_PT[0] and height >= _LEAST_PT[1]


def drawn(
    drawing: bytes, name: str, at: datetime, size: tuple[float, float], overrides: Path | None
) -> bytes:
    """A PDF with one page of that size in points, as the field will show it.

    drawing: PNG of ``recorder.report.signing.drawing``. at: with zone, shown in ISO 8601.
    size: one that ``fits``. overrides: as in an Edition; of the fonts alone.
    Raises EngineMissing and BadTemplate.
    """
    look = looks.read(overrides)
    fonts = [_FONT, *(font for font in look.fonts if font in look.own and font != _FONT)]
    families = [f"Seamnote-{number}" for number in range(len(fonts))]
    width, height = size
    shown, time = _name_and_time(clean(name), at, look)
    lines = sum(_lines(text, width) for text in (shown + time, manner()))
    html = _PAGE.format(
        language=escape(language_tag()),
        title=escape(say("Signature of the customer")),
        faces="\n".join(
            f"@font-face {{ font-family: {family}; src: url('{SCHEME}{font}') }}"
            for family, font in zip(families, fonts, strict=True)
        ),
        families=", ".join(families),
        drawing=_DRAWING,
        width=round(width, 2),
        height=round(height, 2),
        font=_FONT_PT,
        line=_LINE_PT,
        room=round(max(height - lines * _LINE_PT, height / 3), 2),
        name=escape(shown),
        time=escape(time),
        manner=escape(manner()),
    )
    files = {f"{SCHEME}{font}": look.files[font] for font in fonts}
    return weasy.patch(html, {**files, _DRAWING: drawing})


def _name_and_time(name: str, at: datetime, look: Look) -> tuple[str, str]:
    """For what the typeface lacks its codes stand behind the name, so that the page tells all."""
    lacked = glyphs.lacking(name, glyphs.coverage(look))
    codes = f" ({glyphs.listed(lacked)})" if lacked else ""
    return glyphs.replaced(name, lacked), f"{codes}, {at.isoformat(timespec='seconds')}"


def _lines(text: str, width: float) -> int:
    lines = math.ceil(len(text) * _CHARACTER_PT / width)
    return lines + (lines > 1)  # words that go to the next line leave room behind them
