"""The overlay shows what was measured, in words, numbers and colours that differ in lightness."""

import tracemalloc
from pathlib import Path
from time import process_time

import numpy as np
import pytest
from PIL import Image

from recorder.errors import OutputUnwritable
from recorder.model.measurement import Decision, Limit
from recorder.photo.image.conditions import Conditions
from recorder.photo.measure import measure
from recorder.photo.shown import marks
from recorder.photo.shown.gap_colours import GapColours, colours_for
from recorder.photo.shown.overlay import WIDTH_PX, draw
from recorder.photo.shown.pen import drawable, shortened, width, wrapped
from recorder.photo.shown.placing import Room, spread
from recorder.photo.shown.view import square_on
from tests.photo.drawn_seam import (
    BELT_GREY,
    LIMIT,
    PX_PER_MM,
    decided,
    flags,
    photo,
    place,
    seam,
    seen,
)
from tests.photo.heard import Heard
from tests.photo.scenes import SMALL, written

LEAST_TYPE_PX = 35  # 5.6 point in a print of 90 mm
MIDDLE = place(np.array([0.0, 0.0]))
LONG = "IMG_20261126_hall_2_oven_outfeed_3_second_splice_after_pressing_from_the_left_side_" * 3


def count_near(image: Image.Image, colour: tuple[int, int, int]) -> int:
    away = np.abs(np.asarray(image, int) - colour).sum(axis=2)
    return int((away < 12).sum())


def test_a_photo_gets_its_pictures_where_they_were_asked_for(tmp_path: Path) -> None:
    path = written(SMALL, tmp_path)
    overlay, plot = tmp_path / "deep" / "overlay.jpg", tmp_path / "gap.png"
    found = measure(path, Conditions(limits=(LIMIT,)), overlay, plot=plot)
    assert (found.overlay, found.plot) == (overlay.name, plot.name)
    with Image.open(overlay) as image:
        assert image.format == "JPEG"
        assert image.width == WIDTH_PX
        assert 0.6 * WIDTH_PX < image.height < 1.3 * WIDTH_PX
    with Image.open(plot) as image:
        assert (image.format, image.width) == ("PNG", WIDTH_PX)


def test_the_seam_carries_the_colours_of_its_gaps(tmp_path: Path) -> None:
    measured = seam((0.30, 0.44, 0.72, 0.30), limits=(LIMIT,))
    draw(photo(), seen(), measured, tmp_path / "o.png")
    image = Image.open(tmp_path / "o.png").convert("RGB").crop((40, 120, 1050, 930))  # the belt
    colours = colours_for(measured)
    for gap in (0.30, 0.44, 0.72):
        assert count_near(image, colours.of(gap)) > 500
    assert count_near(image, colours.of(0.15)) == 0
    per_length = [count_near(image, colours.of(gap)) for gap in (0.44, 0.72)]
    assert per_length[1] > 1.3 * per_length[0], "too wide a gap is broader too, for grey prints"


def test_colours_order_by_lightness_up_to_the_limit_and_fall_beyond() -> None:
    def lightness(colours: GapColours, gap: float) -> float:
        return float(np.dot(colours.of(gap), (0.2126, 0.7152, 0.0722)))

    with_limit = GapColours(0.5, 0.8)
    below = [lightness(with_limit, gap) for gap in (0.0, 0.15, 0.3, 0.45)]
    assert below == sorted(below)
    assert lightness(with_limit, 0.55) < 0.6 * lightness(with_limit, 0.45)
    without = GapColours(None, 0.8)
    rising = [lightness(without, gap) for gap in (0.0, 0.2, 0.4, 0.6, 0.8)]
    assert rising == sorted(rising)
    assert not without.too_wide(0.8)


def test_a_limit_in_inches_colours_by_its_millimetres() -> None:
    inches = Limit(name="finger_gap", high=0.02, unit="inch")
    assert colours_for(seam((0.3,) * 4, limits=(inches,))).limit_mm == pytest.approx(0.508)


def test_without_a_limit_the_scale_ends_above_the_largest_gap() -> None:
    assert colours_for(seam((0.3, 0.47, 0.3, 0.3))) == GapColours(None, 0.5)


def test_unwritable_place(tmp_path: Path) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("in the way")
    with pytest.raises(OutputUnwritable):
        draw(photo(), seen(), seam((0.3,) * 4), blocker / "overlay.png")


ALL_LIMITS = (
    LIMIT, Limit(name="splice_width", tolerance=0.65), Limit(name="edge_offset", high=0.5),
    Limit(name="belt_width", low=2.7, high=2.8, unit="inch"),
    Limit(name="finger_pitch", low=9.9, high=10.1), Limit(name="finger_length", low=29.5),
)  # fmt: skip

CASES = {
    "fourteen flanks": (seam((0.3, 0.6) * 7, limits=(LIMIT,)), {}),
    "worst at the upper rim": (seam((0.9,) + (0.3,) * 13), {}),
    "straight": (seam((0.4,), length=4.0, finger_pitch=None), {"length": 4.0}),
    "narrow": (seam((0.3,) * 7, width=35.0), {"width": 35.0}),
    "wide, long fingers, card L": (
        seam((0.3,) * 20, width=200.0, length=138.0, card="L"),
        {"width": 200.0, "length": 138.0, "card": "L"},
    ),
    "ten millimetres, card S": (
        seam((0.3,) * 4, width=10.0, length=14.0, card="S"),
        {"width": 10.0, "length": 14.0, "card": "S"},
    ),
    "upper bounds": (seam((0.1, 0.12) * 7, below=0.2, **decided(Decision.WITHIN)), {}),
    "every limit, undecided, a long name, many flags": (
        seam(
            (0.3, 0.49) * 7,
            file=f"{LONG}.jpg",
            limits=ALL_LIMITS,
            decision=Decision.UNDECIDED,
            decisions={limit.name: Decision.UNDECIDED for limit in ALL_LIMITS},
            flags=flags(9, MIDDLE),
        ),
        {},
    ),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
def test_labels_lie_apart_inside_the_picture_and_can_be_read(case, tmp_path, monkeypatch) -> None:
    measured, shape = case
    heard = Heard(monkeypatch)
    draw(photo(shape.get("card", "M")), seen(**shape), measured, tmp_path / "o.png")
    assert heard.overlapping() == []
    assert heard.outside() == []
    assert min(size for _, size in heard.texts) >= LEAST_TYPE_PX


def test_every_number_and_sign_of_the_measurement_is_shown(tmp_path, monkeypatch) -> None:
    heard = Heard(monkeypatch)
    measured = seam((0.3, 0.6) * 7, flags=flags(2, MIDDLE), **decided(Decision.OUTSIDE))
    draw(photo(), seen(), measured, tmp_path / "o.png")
    said = [words for words, _ in heard.texts]
    for number in (
        measured.gap_max, measured.gap_mean, measured.splice_width, measured.belt_width_left,
        measured.belt_width_right, measured.edge_offset, measured.skew, measured.bow,
        measured.finger_pitch, measured.finger_length,
    ):  # fmt: skip
        assert number.shown() in said
    assert measured.belt_width.shown() not in said, "no limit asks for it, and both ends are shown"
    assert said.count("0.02 ± 0.04 mm") == 1, "an offset has no sign but an arrow where it is sure"
    assert "upper offset ↓" in said
    assert "lower offset " in said
    assert {"outside", "at most 0.5 mm", "limit 0.5"} <= set(said)
    # once in the picture and once in the table
    assert [said.count(letter) for letter in "ABCDE12"] == [2, 2, 2, 3, 2, 2, 2]


def test_a_tip_without_a_reading_is_called_so(tmp_path, monkeypatch) -> None:
    heard = Heard(monkeypatch)
    measured = seam((0.3, 0.3, 0.6, 0.3))
    tip = measured.model_copy(update={"gap_max_at": measured.flanks[2].end})
    for one in (measured, tip):
        draw(photo(), seen(), one, tmp_path / "o.png")
    said = [words for words, _ in heard.texts if words.startswith("widest")]
    assert said == ["widest place", "widest: a flank's end"]


def test_the_widest_place_is_ringed_where_it_is_and_stays_free(tmp_path, monkeypatch) -> None:
    measured = seam((0.3, 0.3, 0.6, 0.3), flags=flags(3, MIDDLE))
    measured = measured.model_copy(update={"flags": flags(3, measured.gap_max_at)})
    draw(photo(), seen(), measured, tmp_path / "free.png")
    draw(photo(), seen(), measured.model_copy(update={"flags": ()}), tmp_path / "o.png")
    pictures = [np.asarray(Image.open(tmp_path / name), int) for name in ("free.png", "o.png")]
    layout_left, per_mm = 10.0, 1010 / 104.0
    x = 40 + (measured.gap_max_at.px[0] / 9.0 - layout_left) * per_mm
    y = 120 + marks._MARGIN + (measured.gap_max_at.y_mm + 35) * per_mm
    inside = np.s_[round(y) - 18 : round(y) + 18, round(x) - 18 : round(x) + 18]
    assert (pictures[0][inside] == pictures[1][inside]).all()
    on_ring = pictures[1][round(y) - marks._RING + 2, round(x)]
    assert on_ring.min() > 240


def test_twelve_megapixels_are_drawn_quickly_and_in_little_memory(tmp_path: Path) -> None:
    whole = np.full((4000, 3000, 3), 150, np.uint8)
    around = seen()
    fine = 3000 / 124.0
    around.plane = around.plane.__class__(np.diag([fine, fine, 1.0]), around.plane.covariance, 0.0)
    measured = seam((0.3, 0.6) * 7, limits=(LIMIT,))
    draw(whole, around, measured, tmp_path / "warm.jpg")
    begin = process_time()
    draw(whole, around, measured, tmp_path / "o.jpg")
    assert process_time() - begin < 0.8  # twice the target, for a busy machine
    tracemalloc.start()
    draw(whole, around, measured, tmp_path / "o.jpg")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 120e6


@pytest.mark.parametrize("per_mm", [3.0, 7.28, 9.0, 12.0])
def test_a_view_is_as_even_as_its_photo_and_in_its_place(per_mm: float) -> None:
    even = photo("L")
    view = square_on(even, seen(card="L").plane, (12.0, 20.37, 178.0, 256.63), per_mm)
    assert np.unique(view.rgb).tolist() == [BELT_GREY]
    even[round(100 * PX_PER_MM) :, :, 0] = 10  # blue, below y = 100 mm
    view = square_on(even, seen(card="L").plane, (12.0, 20.37, 178.0, 256.63), per_mm)
    row = round(float(view.px(np.array([50.0, 100.0]))[1]))
    assert view.rgb[row - 3, :, 2].min() > 140
    assert view.rgb[row + 3, :, 2].max() < 20


def test_labels_find_the_nearest_free_place() -> None:
    room = Room((200, 100), rim=5)
    room.take((0, 0, 100, 100))
    wishes = [np.array([50.0, 50.0]), np.array([150.0, 50.0])]
    assert room.choose(wishes, (10, 10)).tolist() == [150, 50]
    # nothing is free: the one that lies on least, and never beyond the rim
    assert room.choose([np.array([50.0, 50.0]), np.array([145.0, 500.0])], (30, 30)).tolist() == [
        145, 65,
    ]  # fmt: skip


def test_names_on_a_line_are_spread_as_little_as_need_be() -> None:
    assert spread([10, 50], 20, 0, 100) == [10, 50]
    assert spread([50, 50], 20, 0, 100) == [40, 60]
    assert spread([52, 50], 20, 0, 100) == [61, 41]
    assert spread([1, 2, 50], 20, 0, 100) == [0, 20, 50]
    assert spread([99, 98], 20, 0, 100) == [100, 80]
    assert spread([5, 5, 5], 20, 0, 20) == [0, 10, 20]
    assert spread([], 20, 0, 100) == []


def test_a_long_name_keeps_its_ends_within_the_room() -> None:
    assert shortened("a.jpg", 40, 500) == "a.jpg"
    short = shortened(f"{LONG}.jpg", 40, 500)
    assert width(short, 40) <= 500 < width(short, 40) + 40
    assert short.startswith("IMG_2026")
    assert short.endswith(".jpg")
    assert "…" in short
    lines = wrapped(f"look at {LONG} again", 40, 500)
    assert [lines[0], lines[-1]] == ["look at", "again"]
    assert all(width(line, 40) <= 500 for line in lines)


def test_characters_that_the_typeface_lacks_leave_a_box_of_their_own() -> None:
    assert drawable("belt 1 – 0.5 mm ± µ°.jpg") == "belt 1 – 0.5 mm ± µ°.jpg"
    assert drawable("Größe œuvre.jpg") == "Größe œuvre.jpg"
    assert drawable("Gro\u0308\u00dfe.jpg") == "Größe.jpg"
    assert drawable("a\U0001f527b\u2764\ufe0fc") in ("a□b□c", "a□b❤c")
    assert drawable("\U0001f468\u200d\U0001f527.jpg") == "□□.jpg"
    assert drawable("two\nlines\udcff.jpg") == "two□lines□.jpg"
