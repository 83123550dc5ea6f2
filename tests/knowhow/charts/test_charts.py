"""The pictures: well formed, readable without colour, the same each time, and safe to show."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC
from xml.etree import ElementTree

import pytest

from recorder.knowhow.charts import control, outcomes, pen, scatter
from recorder.knowhow.charts.look import Look
from recorder.knowhow.charts.pen import width
from recorder.knowhow.trends.chart import Chart, Month
from recorder.knowhow.trends.charting import chart
from recorder.knowhow.trends.scatter import scatter as pairs_of
from recorder.model.past import PastRun
from recorder.settings import contrast_on_white
from tests.knowhow.trends.made import GAP, run, runs

COUNTS = (0, 1, 3, 60, 3000)
WIDTHS = (360, 720)
SVG = "{http://www.w3.org/2000/svg}"


def told(count: int, shift: float = 0.0) -> list[PastRun]:
    """Runs of which the last fifteen have shifted by so many sigma; each ninth gap is a bound."""
    luck = random.Random(2)
    return [
        run(
            place,
            finger_gap=0.5 + 0.05 * (luck.gauss(0, 1) + shift * (place >= count - 15)),
            finger_gap_U=0.06,
            gap_below=place % 9 == 4,
            top_temperature=170.0 + place % 4,
            outcome=("accepted", "rework", "rejected", None)[place % 4],
        )
        for place in range(count)
    ]


def charted(count: int, shift: float = 0.0, name: str = "P2") -> Chart:
    return chart(GAP, "press", name, told(count, shift))


def months(count: int) -> list[Month]:
    return [
        Month(month=f"{2024 + n // 12}-{n % 12 + 1:02d}", accepted=n % 17, rework=n % 3, rejected=1)
        for n in range(count)
    ]


def pictures(count: int, wide: int) -> Iterator[str]:
    look = Look(width=wide, zone=UTC)
    yield control.svg(charted(count, 2.0), look=look)
    yield outcomes.svg(months(min(count, 60)), look=look)
    yield scatter.svg(pairs_of("top_temperature", told(count)), look=look)


def texts(svg: str) -> list[str]:
    return ["".join(it.itertext()) for it in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def attributes(tree: ElementTree.Element) -> set[str]:
    return {key for it in tree.iter() for key in it.attrib}


@pytest.mark.parametrize("wide", WIDTHS)
@pytest.mark.parametrize("count", COUNTS)
def test_a_picture_is_whole_named_and_small(count: int, wide: int) -> None:
    for svg in pictures(count, wide):
        tree = ElementTree.fromstring(svg)
        assert tree.get("role") == "img"
        title, described = tree.find(f"{SVG}title"), tree.find(f"{SVG}desc")
        assert title is not None
        assert described is not None
        assert title.text
        assert described.text
        assert "nan" not in svg
        assert len(svg) < 80_000


@pytest.mark.parametrize("wide", WIDTHS)
@pytest.mark.parametrize("count", COUNTS)
def test_every_word_lies_within_the_picture(count: int, wide: int) -> None:
    for svg in pictures(count, wide):
        tree = ElementTree.fromstring(svg)
        high = float(tree.get("height", "0"))
        for it in tree.iter(f"{SVG}text"):
            x, y = float(it.get("x", "-1")), float(it.get("y", "-1"))
            size, text = float(it.get("font-size", "0")), "".join(it.itertext())
            share = {"start": 0.0, "middle": 0.5, "end": 1.0}[it.get("text-anchor", "")]
            left = x - share * width(text, size)
            assert size >= 11
            assert left >= -1, text
            assert left + width(text, size) <= wide + 2, text
            assert size <= y <= high, text


def test_the_same_values_give_the_same_picture() -> None:
    assert list(pictures(60, 720)) == list(pictures(60, 720))


def test_nothing_is_told_in_a_friendly_sentence() -> None:
    shown = [" ".join(texts(svg)) for svg in pictures(0, 720)]
    assert all("Nothing to show yet" in it for it in shown)


def test_one_point_and_three_say_why_there_are_no_limits_yet() -> None:
    one, three = (" ".join(texts(control.svg(charted(count)))) for count in (1, 3))
    assert "One point has no limits yet" in one
    assert "upper" not in one
    assert "Limits are provisional until there are 30 points" in three
    assert "nothing is judged before there are 10" in three
    assert "upper" in three


def test_a_picture_of_bounds_alone_says_that_nothing_was_measured() -> None:
    bounds = [run(place, finger_gap=0.1, gap_below=True) for place in range(12)]
    svg = control.svg(chart(GAP, "press", "P2", bounds))
    assert "No limits: no two points in a row were measured." in texts(svg)


def test_what_signals_differs_in_shape_and_bears_its_letter() -> None:
    calm, shifted = control.svg(charted(60)), control.svg(charted(60, 2.5))
    assert calm.count("<path") < shifted.count("<path")
    assert "S" in texts(shifted)
    assert any("S: a lasting shift" in it for it in texts(shifted))
    assert not any("S: a lasting shift" in it for it in texts(calm))


def test_three_thousand_points_are_groups_and_the_newest_by_themselves() -> None:
    svg = control.svg(charted(3000))
    assert svg.count("<circle") < 250
    assert any("earlier points in groups of" in it for it in texts(svg))
    dates = sorted(it for it in texts(svg) if it.startswith("20"))
    points = charted(3000).points
    assert dates[0] == points[0].at.astimezone().date().isoformat()
    assert dates[-1] == points[-1].at.astimezone().date().isoformat()


def test_a_point_far_off_does_not_flatten_the_others() -> None:
    values = [0.5, 0.55, 0.45, 0.52, 0.48] * 8 + [40.0]
    ticks = [float(it) for it in texts(control.svg(chart(GAP, "press", "P2", runs(values))))
             if it.replace(".", "").isdigit()]  # fmt: skip
    assert max(ticks) < 2


def test_values_are_shown_in_the_unit_asked_for() -> None:
    shown = texts(control.svg(chart(GAP, "press", "P2", runs([12.7, 25.4, 38.1])), unit="inch"))
    assert "Finger gap, in" in shown
    assert "centre 1.000" in shown
    degrees = texts(scatter.svg(pairs_of("top_temperature", told(20)), unit="degF"))
    assert "Top platen, °F" in degrees
    assert "340" in degrees


@pytest.mark.parametrize(
    "name",
    [
        "</text></svg><script>alert(1)</script>",
        '" onload="alert(1)',
        "&amp; <b>",
        "مكبس ٣",
        "turned \u202e back \u2066",
        "zero \x00 bell \x07 \ufffe \ud800",
        "long " * 400,
        "\u5e73\u5e26\u63a5\u5934" * 20,
        "",
    ],
)
def test_a_name_of_any_kind_harms_nothing(name: str) -> None:
    plain = ElementTree.fromstring(control.svg(charted(12)))
    for look in (Look(), Look(width=360)):
        svg = control.svg(charted(12, name=name), look=look)
        tree = ElementTree.fromstring(svg.encode())
        assert {it.tag for it in tree.iter()} == {it.tag for it in plain.iter()}
        assert attributes(tree) == attributes(plain)
        assert not any(turning in svg for turning in "\u202e\u2066\u2068\u2069")
        assert len(svg) < 20_000


def test_outcomes_are_told_apart_without_colour_and_counted() -> None:
    svg = outcomes.svg([Month(month="2026-10", accepted=40, rework=20, rejected=20, open=20)])
    assert {"accepted", "rework", "rejected", "open", "100", "40"} <= set(texts(svg))
    assert "<path" in svg  # rework is hatched
    assert "stroke-dasharray" in svg  # open is a broken outline
    described = ElementTree.fromstring(svg).find(f"{SVG}desc")
    assert described is not None
    assert described.text == (
        "From 2026-10 to 2026-10: 40 accepted, 20 rework, 20 rejected, 20 open."
    )


def test_of_many_months_the_newest_are_shown() -> None:
    shown = texts(outcomes.svg(months(60)))
    assert "The newest 24 of 60 months." in shown
    assert "2028" in shown
    assert "2024" not in shown


def test_points_of_one_setting_stand_side_by_side_by_outcome() -> None:
    same = [
        run(n, top_temperature=170.0, finger_gap=0.4, outcome=it)
        for n, it in enumerate(("accepted", None))
    ]
    tree = ElementTree.fromstring(scatter.svg(pairs_of("top_temperature", same)))
    below = [it for it in tree.iter(f"{SVG}circle") if float(it.get("cy", "0")) > 60]
    assert len({it.get("cx") for it in below}) == 2


def test_a_correlation_claims_no_cause() -> None:
    shown = " ".join(texts(scatter.svg(pairs_of("top_temperature", told(40)))))
    assert "not what came of what" in shown
    few = " ".join(texts(scatter.svg(pairs_of("top_temperature", told(4)))))
    assert "Too few points for a correlation" in few


@pytest.mark.parametrize("tone", [pen.INK, pen.QUIET, pen.BEHIND, Look().own])
def test_what_says_something_is_told_from_the_paper(tone: str) -> None:
    """WCAG 2.2: 4.5 to 1 for text (1.4.3), 3 to 1 for the rest (1.4.11)."""
    assert contrast_on_white(tone) >= (3.0 if tone == pen.BEHIND else 4.5)
