"""A drawing as a picture of pixels, in the typeface of the report."""

from __future__ import annotations

import re

from recorder.report.content.pictures import SCHEME
from recorder.report.page import glyphs, pictures, weasy
from recorder.report.page import look as looks
from recorder.report.page.typesetting import style

MOST_PX = 4000  # of the width

_SIZE = re.compile(r'<svg [^>]*viewBox="0 0 ([0-9.]+) ([0-9.]+)"')


def png_of(svg: str, width_px: int) -> bytes:
    """A drawing of this program, whose viewBox begins at 0 0, as PNG of so many pixels across.

    Raises EngineMissing and PageFailed, and ValueError for what is no such drawing or for a width
    that no screen has.
    """
    found = _SIZE.match(svg)
    if found is None:
        raise ValueError("not an SVG whose viewBox begins at 0 0")
    if not 1 <= width_px <= MOST_PX:
        raise ValueError(f"{width_px} pixels across; from 1 to {MOST_PX} can be drawn")
    wide, high = map(float, found.groups())
    look = looks.read(None)
    drawn = glyphs.replaced(svg, glyphs.lacking(svg, glyphs.coverage(look)))
    address = f"{SCHEME}drawing.svg"
    page = (
        f"<!DOCTYPE html><style>@page {{ size: {wide}px {high}px; margin: 0 }}"
        f"body {{ width: {wide}px }} img {{ display: block; width: {wide}px; height: {high}px }}"
        f'</style><title>drawing</title><img src="{address}" alt="">'
    )
    return pictures.drawn(weasy.patch(page, {address: drawn.encode()}, style(look)), width_px)
