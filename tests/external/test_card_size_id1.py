"""The smallest card is an ID-1 card, in the table, in the picture and on the printed sheet.

ISO/IEC 7810 (Identification cards - Physical characteristics): ID-1 is nominally 85.60 mm x
53.98 mm, an unused card from 85.47 to 85.72 mm wide and from 53.92 to 54.03 mm high; typed from
published summaries of the standard. The picture's size is read from the pHYs chunk of the file as
the PNG specification (ISO/IEC 15948, 11.3.5.3) has it; the sheet is rendered by pdftoppm of
Debian's poppler-utils, and measured.
"""

import io
import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from recorder.photo.card.card import A4_MM, card_pdf, card_png
from recorder.photo.card.layout import CARD_SIZES, CardLayout

WIDTH_MM, HEIGHT_MM = 85.60, 53.98
WIDTHS_MM, HEIGHTS_MM = (85.47, 85.72), (53.92, 54.03)
PX_PER_MM = 20  # of the rendered sheet
CUT_LINE_MM = 0.15
WHITE_ABOVE_WORDS_MM = 5.0

each_card = pytest.mark.parametrize("card", CARD_SIZES.values(), ids=CARD_SIZES)


def smallest() -> CardLayout:
    return min(CARD_SIZES.values(), key=lambda card: card.size_mm[0] * card.size_mm[1])


def is_id1(width_mm: float, height_mm: float) -> bool:
    low, high = zip(WIDTHS_MM, HEIGHTS_MM, strict=True)
    return low[0] <= width_mm <= high[0] and low[1] <= height_mm <= high[1]


def test_table() -> None:
    assert smallest().size_mm == (WIDTH_MM, HEIGHT_MM)


@pytest.mark.parametrize("dpi", [300, 600])
def test_picture(dpi: int) -> None:
    """Pixels over pixels per metre."""
    file = card_png(smallest(), dpi)
    width, height = struct.unpack(">II", file[16:24])
    at = file.index(b"pHYs") + 4
    across, down, unit = struct.unpack(">IIB", file[at : at + 9])
    assert unit == 1, "per metre"
    size_mm = (1000 * width / across, 1000 * height / down)
    print(f"\n{dpi} dpi: {size_mm[0]:.3f} mm x {size_mm[1]:.3f} mm")
    assert is_id1(*size_mm)
    assert size_mm == pytest.approx((WIDTH_MM, HEIGHT_MM), abs=25.4 / dpi)


@each_card
def test_cut_line_on_the_sheet(card: CardLayout, tmp_path: Path) -> None:
    """The outermost ink on the sheet, above the words, is the cut line; one cuts at its middle."""
    sheet = tmp_path / "card.pdf"
    sheet.write_bytes(card_pdf(card))
    command = ["pdftoppm", "-r", f"{PX_PER_MM * 25.4:g}", "-gray", "-singlefile", sheet]
    picture = subprocess.run(command, capture_output=True, check=True).stdout
    ink = np.asarray(Image.open(io.BytesIO(picture))) < 250
    words = (A4_MM[1] + card.size_mm[1]) / 2 + WHITE_ABOVE_WORDS_MM
    ink = ink[: round(words * PX_PER_MM)]
    columns, rows = np.flatnonzero(ink.any(axis=0)), np.flatnonzero(ink.any(axis=1))
    outer_mm = ((np.ptp(columns) + 1) / PX_PER_MM, (np.ptp(rows) + 1) / PX_PER_MM)
    size_mm = (outer_mm[0] - CUT_LINE_MM, outer_mm[1] - CUT_LINE_MM)
    print(f"\n{card.size}: {size_mm[0]:.2f} mm x {size_mm[1]:.2f} mm")
    assert size_mm == pytest.approx(card.size_mm, abs=1 / PX_PER_MM)
    if card == smallest():
        assert is_id1(*size_mm)


@each_card
def test_white_of_a_module_around_every_marker(card: CardLayout) -> None:
    """A tag of the family is 10 modules wide with the white border that the detectors count on.

    E. Olson, AprilTag: a robust and flexible visual fiducial system, IEEE ICRA 2011; the family's
    drawings carry that border.
    """
    per_mm = 10
    art = np.asarray(Image.open(io.BytesIO(card_png(card, per_mm * 25.4))))
    white = (art[:, :, 0] == 255) & (art[:, :, 3] == 255)
    for marker in card.markers:
        left, top = card.corners_mm(marker).min(axis=0)
        right, bottom = card.corners_mm(marker).max(axis=0)
        module = card.module_mm
        outer = [(top - module), (bottom + module), (left - module), (right + module)]
        assert min(outer) >= 0, f"marker {marker}: its white reaches over the card's edge"
        up, down, far_left, far_right = (round(v * per_mm) for v in outer)
        ring = white[up:down, far_left:far_right].copy()
        inner = np.s_[
            int(top * per_mm) - up : int(np.ceil(bottom * per_mm)) - up,
            int(left * per_mm) - far_left : int(np.ceil(right * per_mm)) - far_left,
        ]
        assert not ring[inner].all(), "there is a marker"
        ring[inner] = True
        assert ring.all(), f"marker {marker}: ink or a cut within one module of it"
