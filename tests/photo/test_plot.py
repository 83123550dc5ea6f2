"""The plot of the gap along the seam: numbers with their U, bounds, limits, and what was unseen."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from recorder.errors import OutputUnwritable
from recorder.model.measurement import Decision, Limit, SeamMeasurement
from recorder.photo.shown import plot
from recorder.photo.shown.plot import WIDTH_PX, draw_plot
from recorder.photo.shown.stretches import spans, stretches, widest
from tests.photo.drawn_seam import LIMIT, decided, mm, seam
from tests.photo.heard import Heard

LEAST_TYPE_PX = 35  # 5.6 point in a print of 90 mm


def drawn(measured: SeamMeasurement, folder: Path) -> Image.Image:
    draw_plot(measured, folder / "plot.png")
    return Image.open(folder / "plot.png").convert("RGB")


def column(image: Image.Image, measured: SeamMeasurement, flank: int) -> np.ndarray:
    """(rows, 3) of the frame in the middle of a flank, the topmost first; paper where words stand
    and on the axis.
    """
    end = max(span.end_mm for span in spans(measured))
    (span,) = (span for span in spans(measured) if span.flank.flank == flank)
    share = (span.begin_mm + span.end_mm) / 2 / end
    x = round(plot._LEFT + plot._PAD + (plot._RIGHT - plot._LEFT - 2 * plot._PAD) * share) + 4
    pixels = np.asarray(image, int)[plot._TOP : plot._BOTTOM, x].copy()
    pixels[:60] = pixels[-3:] = plot.PAPER
    return pixels


def rows_near(pixels: np.ndarray, colour: tuple[int, int, int]) -> np.ndarray:
    return np.flatnonzero(np.abs(pixels - colour).sum(axis=1) < 12)


def mm_of(rows: np.ndarray, top_mm: float) -> tuple[float, float]:
    """Lowest and highest gap that rows of the frame stand for."""
    share = 1 - (rows + 0.5) / (plot._BOTTOM - plot._TOP)
    return float(share.min() * top_mm), float(share.max() * top_mm)


def test_a_gap_stands_at_its_height_with_its_band(tmp_path: Path) -> None:
    measured = seam((0.3, 0.3, 0.6, 0.3), gap_mean=None)
    image = drawn(measured, tmp_path)
    top = 0.64 / (1 - plot._HEADROOM)
    low, high = mm_of(rows_near(column(image, measured, 2), plot._BAND), top)
    assert low == pytest.approx(0.26, abs=0.004)
    assert high == pytest.approx(0.34, abs=0.004)
    low, high = mm_of(rows_near(column(image, measured, 2), plot.TEXT), top)
    assert (low + high) / 2 == pytest.approx(0.3, abs=0.004)


def test_a_gap_beyond_the_limit_has_another_colour(tmp_path: Path) -> None:
    measured = seam((0.3, 0.3, 0.6, 0.3), **decided(Decision.OUTSIDE))
    image = drawn(measured, tmp_path)
    assert len(rows_near(column(image, measured, 3), plot._BAND_WIDE))
    assert not len(rows_near(column(image, measured, 3), plot._BAND))
    assert not len(rows_near(column(image, measured, 2), plot._BAND_WIDE))


def test_bounds_are_open_bars_and_what_was_not_seen_is_blank(tmp_path: Path) -> None:
    measured = seam((0.1, 0.12, 0.3, 0.4), below=0.2, unseen=(3,), gap_mean=None)
    image = drawn(measured, tmp_path)
    bound = column(image, measured, 2)
    assert not len(rows_near(bound, plot._BAND))
    assert 0 < len(rows_near(bound, plot.TEXT)) < 6, "the top of the bar, and nothing in it"
    assert [span.flank.flank for span in spans(measured)] == [1, 2, 4]
    end = spans(measured)[-1].end_mm
    x = round(
        (plot._LEFT + plot._RIGHT) / 2 + (plot._RIGHT - plot._LEFT) / 8
    )  # the middle of flank 3 of 4
    assert end == pytest.approx(4 * np.hypot(30, 17.5))
    unseen = np.asarray(image, int)[plot._TOP + 60 : plot._BOTTOM - 3, x - 20 : x + 20]
    assert unseen.min() > 200


def test_it_says_what_is_where_in_words(tmp_path: Path, monkeypatch) -> None:
    heard = Heard(monkeypatch)
    measured = seam((0.1, 0.3, 0.6, 0.3), below=0.2, **decided(Decision.OUTSIDE))
    draw_plot(measured, tmp_path / "p.png")
    said = [words for words, _ in heard.texts]
    assert {
        "outside", "limit 0.5 mm", "mean", "widest: 0.60 ± 0.04 mm, flank 3", "gap ± U, k = 2",
        "upper bound, too narrow to tell", "blank: not measured", "limit: house rule 7",
        "photo.jpg", "1", "2", "3", "4",
    } <= set(said)  # fmt: skip
    heard.texts.clear()
    draw_plot(seam((0.3,) * 4), tmp_path / "p.png")
    said = [words for words, _ in heard.texts]
    assert not [words for words in said if "limit" in words or "bound" in words]


def test_a_limit_in_another_unit_stands_at_its_millimetres(tmp_path: Path, monkeypatch) -> None:
    heard = Heard(monkeypatch)
    inches = Limit(name="finger_gap", low=0.004, high=0.02, unit="inch")
    draw_plot(seam((0.3,) * 4, limits=(inches,)), tmp_path / "p.png")
    assert {"limit 0.508 mm", "least 0.102 mm"} <= {words for words, _ in heard.texts}


CASES = {
    "usual": seam((0.3, 0.6) * 7, **decided(Decision.OUTSIDE)),
    "one flank": seam((0.3,), length=4.0),
    "eighty flanks": seam((0.3, 0.4) * 40, width=200.0, **decided(Decision.WITHIN)),
    "the first is the worst": seam((0.9,) + (0.3,) * 13, **decided(Decision.OUTSIDE)),
    "the last is the worst": seam((0.3,) * 13 + (0.9,), **decided(Decision.OUTSIDE)),
    "mean at the limit": seam((0.5,) * 14, **decided(Decision.UNDECIDED)),
    "bounds alone": seam((0.1,) * 14, below=0.2, gap_mean=mm(0.1, below=True)),
    "long words": seam(
        (0.3,) * 14,
        file="IMG_20261126_hall_2_oven_outfeed_3_after_pressing_from_the_left_side.jpg",
        **decided(Decision.WITHIN, LIMIT.model_copy(update={"source": "by " + "hand " * 60})),
    ),
}


@pytest.mark.parametrize("measured", CASES.values(), ids=CASES)
def test_words_lie_apart_inside_the_plot_and_can_be_read(measured, tmp_path, monkeypatch) -> None:
    heard = Heard(monkeypatch)
    image = drawn(measured, tmp_path)
    assert image.width == WIDTH_PX
    assert heard.overlapping() == []
    assert heard.outside() == []
    assert min(size for _, size in heard.texts) >= LEAST_TYPE_PX


def test_it_can_be_read_in_grey(tmp_path: Path) -> None:
    measured = seam((0.3, 0.3, 0.6, 0.3), **decided(Decision.OUTSIDE))
    grey = drawn(measured, tmp_path).convert("L").convert("RGB")
    for flank in (2, 3):
        pixels = column(grey, measured, flank)[:, 0]
        line, band, ground = np.sort(pixels)[[2, len(pixels) // 20, len(pixels) // 2]]
        assert line + 60 < band < ground - 25


def test_a_stretch_beside_one_that_was_not_seen_keeps_its_length() -> None:
    measured = seam((0.3, 0.4))
    gone = tuple(reading for i, reading in enumerate(measured.gap_profile) if i != 1)
    parts = stretches(measured.model_copy(update={"gap_profile": gone}))
    assert [part.end_mm - part.begin_mm for part in parts] == pytest.approx([2.0] * 7)


def test_the_widest_place_may_be_a_tip_that_has_no_reading() -> None:
    measured = seam((0.3, 0.6, 0.3))
    flank = measured.flanks[1]
    for tip in (measured.flanks[0].end, flank.begin, flank.end, measured.flanks[2].begin):
        assert widest(measured.model_copy(update={"gap_max_at": tip})).flank == flank
    found = widest(measured.model_copy(update={"gap_max_at": flank.end}))
    assert found.way_mm == pytest.approx(2 * np.hypot(30, 70 / 3))
    assert widest(measured).way_mm == pytest.approx(measured.gap_profile[4].s_mm)


def test_unwritable_place(tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("in the way")
    with pytest.raises(OutputUnwritable):
        draw_plot(seam((0.3,) * 4), blocker / "plot.png")
