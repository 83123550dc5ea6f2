"""The structure of a document: what a screen reader reads out, as a tree (ISO 32000-1, 14.7)."""

from __future__ import annotations

from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name

from recorder.report.document.pdf import opened

_POINTS_PER_PIXEL = 72 / 96  # CSS


def place_figures(pdf: pikepdf.Pdf) -> None:
    """Correct the rectangles of all figures in a PDF by WeasyPrint.

    It writes them in CSS pixels from the upper left corner of the page, where ISO 32000-1, 14.8.5.4
    wants points from the lower left.
    """
    for element in pdf.objects:  # five times as quick as along the tree
        if not isinstance(element, Dictionary) or element.get("/S") != Name.Figure:
            continue
        left, top, right, bottom = (float(side) * _POINTS_PER_PIXEL for side in element.A.BBox)
        height = float(element.Pg.MediaBox[3])
        element.A.BBox = Array([left, height - bottom, right, height - top])


def alternative_texts(content: bytes, name: str | Path) -> tuple[str, ...]:
    """What is read out in place of each figure, in reading order; "" for nothing.

    content, name: of the PDF. Raises NotAReport when it cannot be read.
    """
    texts = []
    with opened(content, name) as pdf:
        waiting = [pdf.Root.get("/StructTreeRoot", Dictionary())]
        seen: set[tuple[int, int]] = set()
        while waiting:  # without recursion, because a hostile tree is deep, or a ring
            element = waiting.pop()
            if not isinstance(element, Array | Dictionary) or element.objgen in seen:
                continue
            if element.is_indirect:
                seen.add(element.objgen)
            if isinstance(element, Array):
                waiting.extend(reversed(list(element)))
            else:
                if element.get("/S") == Name.Figure:
                    texts.append(str(element.get("/Alt", "")))
                waiting.append(element.get("/K", Array()))
    return tuple(texts)
