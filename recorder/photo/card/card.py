"""The reference card on paper: as a picture with its true size, and as a sheet to print and cut."""

from __future__ import annotations

import io
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from recorder.photo.card.fiducials import marker_modules
from recorder.photo.card.layout import CARD_SIZES, DEFAULT_SIZE, CardLayout

__all__ = ["CARD_SIZES", "DEFAULT_SIZE", "CardLayout", "card_pdf", "card_png"]

MM_PER_INCH = 25.4
A4_MM = (210.0, 297.0)
_BAR_LINE_MM = 0.35
_TICK_MM = 2.4
_LETTER = 0.5  # width of a letter over its size, with some to spare
_WORDS_MM, _LARGEST_WORDS_MM, _LARGEST_LABEL_MM = 3.4, 4.2, 2.6
_ROOM_FOR_WORDS_MM = 60.0

Rectangle = tuple[float, float, float, float]


def ink(layout: CardLayout) -> Iterator[Rectangle]:
    """The black rectangles of a card (left, top, right, bottom in mm): markers, then bars."""
    for marker, (x, y) in layout.markers.items():
        black = marker_modules(marker)
        for row, modules in enumerate(black):
            for first, last in _runs(modules):
                yield (
                    x + first * layout.module_mm,
                    y + row * layout.module_mm,
                    x + last * layout.module_mm,
                    y + (row + 1) * layout.module_mm,
                )
    yield from bars(layout)


def bars(layout: CardLayout) -> Iterator[Rectangle]:
    """The caliper bars: measured over the outer faces of the two ticks of each."""
    tick, line = _TICK_MM, _BAR_LINE_MM
    tick = min(tick, layout.module_mm * 1.05)
    x, y = layout.bar_x
    length = layout.bars_mm[0]
    yield x, y - line / 2, x + length, y + line / 2
    yield x, y - tick / 2, x + line, y + tick / 2
    yield x + length - line, y - tick / 2, x + length, y + tick / 2
    x, y = layout.bar_y
    length = layout.bars_mm[1]
    yield x - line / 2, y, x + line / 2, y + length
    yield x - tick / 2, y, x + tick / 2, y + line
    yield x - tick / 2, y + length - line, x + tick / 2, y + length


def _runs(modules: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Begin and end of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], modules.astype(int), [0]))))
    yield from zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)


def card_png(layout: CardLayout, dpi: float = 600.0) -> bytes:
    """True-size art as PNG with its dpi in the file; transparent where the card is cut away.

    Every pixel holds the exact share of ink and of paper on its area, so that edges lie where the
    layout says at any dpi.
    """
    per_mm = dpi / MM_PER_INCH
    width, height = (max(1, round(side * per_mm)) for side in layout.size_mm)
    black = np.zeros((height, width), np.float32)
    for left, top, right, bottom in ink(layout):
        _add(black, (left * per_mm, top * per_mm, right * per_mm, bottom * per_mm))
    paper = np.ones((height, width), np.float32)
    cut = np.zeros_like(paper)
    left, top, right, bottom = layout.window_mm
    _add(cut, (left * per_mm, top * per_mm, right * per_mm, bottom * per_mm))
    paper -= cut
    tone = np.clip(255 * (1 - black), 0, 255).round().astype(np.uint8)
    alpha = np.clip(255 * paper, 0, 255).round().astype(np.uint8)
    art = Image.fromarray(np.dstack([tone, tone, tone, alpha]), "RGBA")
    file = io.BytesIO()
    art.save(file, "PNG", dpi=(dpi, dpi), compress_level=6)
    return file.getvalue()


def _add(picture: NDArray[np.float32], rectangle: Rectangle) -> None:
    """Add the covered share of each pixel; the rectangle is in pixels from the picture's corner."""
    left, top, right, bottom = rectangle
    rows, columns = _covered(top, bottom), _covered(left, right)
    part = picture[rows.start : rows.stop, columns.start : columns.stop]
    part += np.outer(_share(top, bottom, rows), _share(left, right, columns))[
        : part.shape[0], : part.shape[1]
    ].astype(np.float32)


def _covered(begin: float, end: float) -> range:
    return range(int(np.floor(begin)), int(np.ceil(end)))


def _share(begin: float, end: float, pixels: range) -> NDArray[np.float64]:
    first = np.arange(pixels.start, pixels.stop, dtype=float)
    overlap = np.minimum(end, first + 1) - np.maximum(begin, first)
    return np.asarray(np.clip(overlap, 0.0, 1.0))


def card_pdf(layout: CardLayout) -> bytes:
    """The card in true size on one A4 sheet, as vectors: cut line, bars, what to do.

    Written by hand because the drawing is a hundred rectangles and the size must be exact.
    """
    sheet_w, sheet_h = A4_MM
    dx, dy = (sheet_w - layout.size_mm[0]) / 2, (sheet_h - layout.size_mm[1]) / 2
    drawing = [f"{72 / MM_PER_INCH:.8f} 0 0 {-72 / MM_PER_INCH:.8f} 0 {_pt(sheet_h):.4f} cm"]
    drawing.append("0 g")
    for left, top, right, bottom in ink(layout):
        box = (left + dx, top + dy, right - left, bottom - top)
        drawing.append("{:.4f} {:.4f} {:.4f} {:.4f} re".format(*box))
    drawing.append("f")
    drawing.append("0.45 G 0.15 w [1.5 1] 0 d")
    drawing.append(f"{dx:.4f} {dy:.4f} {layout.size_mm[0]:.4f} {layout.size_mm[1]:.4f} re S")
    left, top, right, bottom = layout.window_mm
    drawing.append(
        f"{left + dx:.4f} {top + dy:.4f} {right - left:.4f} {bottom - top:.4f} re S [] 0 d"
    )
    for x, y, size_mm, text in _words(layout, dy):
        drawing.append(
            f"BT /F1 1 Tf {size_mm:.3f} 0 0 {-size_mm:.3f} {x + dx:.3f} {y + dy:.3f} Tm "
            f"({_escaped(text)}) Tj ET"
        )
    x, y, size_mm, text = _label(layout)
    drawing.append(
        f"BT /F1 1 Tf 0 {size_mm:.3f} {size_mm:.3f} 0 {x + dx:.3f} {y + dy:.3f} Tm "
        f"({_escaped(text)}) Tj ET"
    )
    return _one_page("\n".join(drawing), (_pt(sheet_w), _pt(sheet_h)))


def _words(layout: CardLayout, below_mm: float) -> Iterator[tuple[float, float, float, str]]:
    """x, baseline y, letter size (mm) and text: under the card, or in the window where no room is.

    Both are cut away. below_mm: from the card to the end of the sheet.
    """
    left, top, right, bottom = layout.window_mm
    bar_x, bar_y = layout.bars_mm
    low, high = layout.belts_mm
    lines = (
        f"Seamnote reference card {layout.size}, for belts of {low:g} to {high:g} mm",
        "1  Print at 100 %, without fitting to the page.",
        f"2  With a caliper, measure both bars over their ends: {bar_x:g} mm across,",
        f"    {bar_y:g} mm down. Tell the program what you read:",
        f"    seamnote card --size {layout.size} --measured ACROSS,DOWN",
        "3  Glue the sheet flat on thin stiff card (0.2 to 0.3 mm: a thick one lies above",
        "    the belt). Cut along the broken lines, and cut out the middle.",
        "4  Lay the frame flat around the splice: the belt runs from left to right between",
        "    the rows of squares; both its edges and the whole seam show in the middle.",
    )
    longest = max(len(line) for line in lines) * _LETTER
    under = below_mm > _ROOM_FOR_WORDS_MM
    if under:
        left = (layout.size_mm[0] - longest * _WORDS_MM) / 2
        size, y = _WORDS_MM, layout.size_mm[1] + 4 * _WORDS_MM
    else:
        size = min(_LARGEST_WORDS_MM, (right - left - 4) / longest)
        left, y = left + 2, (top + bottom) / 2 - size * 1.5 * (len(lines) - 1) / 2
    for line in lines:
        yield left, y, size, line
        y += size * 1.5


def _label(layout: CardLayout) -> tuple[float, float, float, str]:
    """What stays on the card, down its right bar: x of the baseline, y where it begins, size."""
    _, top, right, bottom = layout.window_mm
    text = "{}  belts {:g}-{:g}  bars {:g}, {:g} mm".format(
        layout.size, *layout.belts_mm, *layout.bars_mm
    )
    size = min(_LARGEST_LABEL_MM, (bottom - top) / (len(text) * _LETTER))
    x = (right + layout.size_mm[0]) / 2 - size * 0.35
    return x, (top + bottom - len(text) * _LETTER * size) / 2, size, text


def _pt(mm: float) -> float:
    return mm * 72 / MM_PER_INCH


def _escaped(text: str) -> str:
    return text.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")


def _one_page(drawing: str, size_pt: tuple[float, float]) -> bytes:
    """A PDF 1.4 file with one page; /PrintScaling /None asks the viewer not to fit it."""
    body = drawing.encode("latin-1")
    objects = (
        b"<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %.4f %.4f] /Contents 4 0 R "
        b"/Resources << /Font << /F1 5 0 R >> >> >>" % size_pt,
        b"<< /Length %d >>\nstream\n" % len(body) + body + b"\nendstream",
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>",
        b"<< /Title (Seamnote reference card) /Producer (Seamnote) >>",
    )
    file = bytearray(b"%PDF-1.4\n")
    places = []
    for number, content in enumerate(objects, 1):
        places.append(len(file))
        file += b"%d 0 obj\n" % number + content + b"\nendobj\n"
    start = len(file)
    file += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    file += b"".join(b"%010d 00000 n \n" % place for place in places)
    file += b"trailer\n<< /Size %d /Root 1 0 R /Info 6 0 R >>\n" % (len(objects) + 1)
    file += b"startxref\n%d\n%%%%EOF\n" % start
    return bytes(file)
