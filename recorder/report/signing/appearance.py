"""What the customer's signature looks like: the drawing, and below it the truth about it."""

from __future__ import annotations

import functools
from datetime import datetime
from html import escape

from recorder.report.content.text import clean
from recorder.report.page import weasy
from recorder.report.wording.wording import language_tag, say
from recorder.resources import shipped

LONGEST_NAME = 100  # characters; three lines hold it with the time

_LINE_PT = 6.6
_LINES = 3  # of text: the name and the time, which may wrap, and how it was drawn
_FONT = "seamnote:fonts/Inter-Medium.otf"
_DRAWING = "seamnote:drawing.png"
_PAGE = """<html lang="{language}"><title>{title}</title><style>
@font-face {{ font-family: Seamnote; src: url({font}) }}
@page {{ size: {width}pt {height}pt; margin: 0 }}
html {{ font: 5.4pt/{line}pt Seamnote; color: #17212b; overflow-wrap: anywhere }}
body, p {{ margin: 0 }}
img {{ position: absolute; left: 0; top: 0; width: {width}pt; height: {room}pt;
  object-fit: contain; object-position: 0 100%; image-rendering: crisp-edges }}
div {{ position: absolute; left: 0; bottom: 0; width: {width}pt }}
</style><img src="{drawing}" alt="{title}"><div>
<p><bdi>{name}</bdi>, {time}</p>
<p>{manner}</p>
</div></html>"""


def manner() -> str:
    """How the signature came about, as the page and the signature itself tell it."""
    return say("drawn on the device and witnessed by the technician")


def drawn(drawing: bytes, name: str, at: datetime, width: float, height: float) -> bytes:
    """A PDF with one page of that size in points, as the field will show it.

    drawing: PNG of ``recorder.report.signing.drawing``. at: with zone, shown in ISO 8601.
    Raises EngineMissing.
    """
    html = _PAGE.format(
        language=escape(language_tag()),
        title=escape(say("Signature of the customer")),
        font=_FONT,
        drawing=_DRAWING,
        width=round(width, 2),
        height=round(height, 2),
        line=_LINE_PT,
        room=round(max(height - _LINES * _LINE_PT, height / 3), 2),
        name=escape(clean(name)),
        time=at.isoformat(timespec="seconds"),
        manner=escape(manner()),
    )
    return weasy.patch(html, {_FONT: _font(), _DRAWING: drawing})


@functools.cache
def _font() -> bytes:
    return (shipped("report_templates") / _FONT.partition(":")[2]).read_bytes()
