"""The printed card has its true size, and every marker on it is where the layout says."""

import io
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from recorder.photo.card.card import A4_MM, CARD_SIZES, card_pdf, card_png, ink
from recorder.photo.card.fiducials import find_markers
from recorder.photo.card.layout import DEFAULT_SIZE, CardLayout, for_belt

each_card = pytest.mark.parametrize("card", CARD_SIZES.values(), ids=CARD_SIZES)
POINTS_A_MM = 72 / 25.4


@each_card
def test_png_carries_its_size_and_its_hole(card: CardLayout) -> None:
    image = Image.open(io.BytesIO(card_png(card, 300)))
    dpi = image.info["dpi"][0]
    for side in (0, 1):
        assert image.size[side] / dpi * 25.4 == pytest.approx(card.size_mm[side], abs=0.05)
    alpha = np.asarray(image)[:, :, 3]
    left, top, right, bottom = (v * 300 / 25.4 for v in card.window_mm)
    inside = alpha[int(top) + 2 : int(bottom) - 1, int(left) + 2 : int(right) - 1]
    assert inside.max() == 0
    share = (bottom - top) * (right - left) / (image.size[0] * image.size[1])
    assert np.mean(alpha < 128) == pytest.approx(share, abs=0.002)


@each_card
def test_markers_are_found_where_the_layout_says(card: CardLayout) -> None:
    image = Image.open(io.BytesIO(card_png(card, 254)))
    paper = Image.new("L", image.size, 255)
    paper.paste(image.convert("L"), mask=image.getchannel("A"))
    found = find_markers(np.pad(np.asarray(paper), 60, constant_values=255))
    assert found.keys() == card.markers.keys()
    for marker, corners in found.items():
        assert np.abs((corners - 60 + 0.5) / 10 - card.corners_mm(marker)).max() < 0.25


@each_card
def test_pdf_is_one_a4_sheet_with_the_card_in_true_size(card: CardLayout) -> None:
    page = PdfReader(io.BytesIO(card_pdf(card))).pages[0]
    assert [float(v) for v in page.mediabox] == pytest.approx(
        [0, 0, A4_MM[0] * POINTS_A_MM, A4_MM[1] * POINTS_A_MM], abs=0.01
    )
    scale: list[float] = []
    boxes: list[list[float]] = []

    def visit(operator: bytes, operands: list, *_: object) -> None:
        if operator == b"cm":
            scale.extend(float(v) for v in operands)
        if operator == b"re":
            boxes.append([float(v) for v in operands])

    page.extract_text(visitor_operand_before=visit)
    assert scale[0] == pytest.approx(POINTS_A_MM, rel=1e-6)
    assert scale[3] == pytest.approx(-POINTS_A_MM, rel=1e-6)
    dx, dy = ((A4_MM[i] - card.size_mm[i]) / 2 for i in (0, 1))
    wanted = [[x0 + dx, y0 + dy, x1 - x0, y1 - y0] for x0, y0, x1, y1 in ink(card)]
    assert np.allclose(boxes[: len(wanted)], wanted, atol=1e-3)
    assert boxes[len(wanted)][2:] == pytest.approx(card.size_mm)
    text = page.extract_text()
    assert "100 %" in text
    assert f"{card.bars_mm[0]:g} mm across" in text
    assert f"seamnote card --size {card.size} --measured" in text
    assert f"{card.size}  belts {card.belts_mm[0]:g}-{card.belts_mm[1]:g}" in text


@each_card
def test_words_stay_on_the_sheet_and_off_the_card(card: CardLayout, tmp_path: Path) -> None:
    """All but the label, which stays on the card, are cut away with the sheet or the window."""
    (tmp_path / "card.pdf").write_bytes(card_pdf(card))
    boxes = subprocess.run(
        ["pdftotext", "-bbox", tmp_path / "card.pdf", "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    found = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"', boxes)
    words = np.array(found, float) / POINTS_A_MM
    assert len(words) > 60
    assert words.min() > 5
    assert (words[:, 2:] < np.array(A4_MM) - 5).all()
    words -= np.tile((np.array(A4_MM) - card.size_mm) / 2, 2)
    width, height = card.size_mm
    left, top, right, bottom = card.window_mm
    in_window = (words[:, 0] >= left) & (words[:, 2] <= right)
    in_window &= (words[:, 1] >= top) & (words[:, 3] <= bottom)
    on_bar = (words[:, 0] >= right) & (words[:, 2] <= width)
    on_bar &= (words[:, 1] >= top) & (words[:, 3] <= bottom)
    off = words[:, 1] > height
    assert (in_window | on_bar | off).all()
    assert on_bar.sum() == 7


@each_card
def test_bars_have_their_nominal_length(card: CardLayout) -> None:
    x0 = min(box[0] for box in ink(card) if abs((box[1] + box[3]) / 2 - card.bar_x[1]) < 0.01)
    x1 = max(box[2] for box in ink(card) if abs((box[1] + box[3]) / 2 - card.bar_x[1]) < 0.01)
    assert x1 - x0 == pytest.approx(card.bars_mm[0])
    y0 = min(box[1] for box in ink(card) if abs((box[0] + box[2]) / 2 - card.bar_y[0]) < 0.01)
    y1 = max(box[3] for box in ink(card) if abs((box[0] + box[2]) / 2 - card.bar_y[0]) < 0.01)
    assert y1 - y0 == pytest.approx(card.bars_mm[1])


@each_card
def test_layout_holds_together(card: CardLayout) -> None:
    width, height = card.size_mm
    _left, top, _right, bottom = card.window_mm
    assert card.belts_mm[1] < bottom - top, "the widest belt shows both edges"
    assert width <= A4_MM[0] - 10
    assert height <= A4_MM[1] - 10
    for marker in card.markers:
        low, high = card.corners_mm(marker).min(axis=0), card.corners_mm(marker).max(axis=0)
        rim = min(*low, width - high[0], height - high[1])
        assert rim >= card.module_mm, "white around a marker is at least one module"
        above_or_below = high[1] <= top - card.module_mm or low[1] >= bottom + card.module_mm
        assert above_or_below


def test_sizes() -> None:
    assert len({m for card in CARD_SIZES.values() for m in card.markers}) == sum(
        len(card.markers) for card in CARD_SIZES.values()
    )
    assert CARD_SIZES[DEFAULT_SIZE].belts_mm == (35, 100)


def test_no_belt_falls_between_two_sizes() -> None:
    for tenth in range(200, 2001):
        card = for_belt(tenth / 10)
        assert card is not None
        assert card.serves(tenth / 10)
    chosen = {width: for_belt(width) for width in (9.9, 20, 30, 60, 100, 101, 200, 201)}
    assert [card and card.size for card in chosen.values()] == [
        None, "S", "SM", "M", "M", "L", "L", None,
    ]  # fmt: skip


def test_the_card_of_the_demo_photos_stays_as_it_was_printed() -> None:
    """Cards that are glued on board must go on measuring right."""
    card = CARD_SIZES["M"]
    assert card.size_mm == (124, 164)
    assert card.window_mm == (10, 26, 114, 138)
    assert card.bars_mm == (100, 100)
    assert list(card.markers) == list(range(321, 329))
    assert card.markers[321] == pytest.approx((3.0375, 3.0375))
    assert card.markers[328] == pytest.approx((102.9625, 142.9625))
