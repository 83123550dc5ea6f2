"""The answer of recipes in the words of its page."""

import pytest

from recorder.knowhow.recipes.answer import Share, Spread
from recorder.knowhow.recipes.wilson import share
from recorder.model.recipe import Bound
from recorder.web.knowhow.amounts import difference, exact, span
from recorder.web.knowhow.answers import _cell, bound_words, share_bar

GAP = Spread(field="finger_gap", count=3, usual=0.15, low=0.15, high=0.31)


@pytest.mark.parametrize(
    ("below", "usual", "more"),
    [
        (0, "0.15 mm", ("0.15 to 0.31 mm", "n 3")),
        (2, "0.15 mm", ("0.15 to 0.31 mm", "n 3", "2 upper bounds")),
        (3, "at most 0.15 mm", ("0.15 to 0.31 mm", "n 3")),
    ],
)
def test_a_gap_under_the_limit_is_told_as_a_bound(
    below: int, usual: str, more: tuple[str, ...]
) -> None:
    cell = _cell(GAP.model_copy(update={"below": below}), {})
    assert (cell.usual, cell.more) == (usual, more)


def test_a_share_is_drawn_between_none_and_all() -> None:
    bar = share_bar(share(1, 1))
    assert (bar.words, bar.at, bar.high) == ("1 of 1 splice accepted", 100.0, 100.0)
    assert bar.interval == "21 to 100 %"
    assert share_bar(Share(accepted=0, of=0, low=0.0, high=1.0)).at == 0.0


def test_a_window_may_be_open_at_one_end() -> None:
    words = [
        bound_words(Bound(field="top_temperature", low=low, high=high), {"temperature": "degF"})
        for low, high in ((170.0, 180.0), (170.0, None), (None, 180.0))
    ]
    assert words == ["338 to 356 °F", "at least 338 °F", "at most 356 °F"]


def test_a_spread_of_temperatures_is_no_temperature() -> None:
    assert difference("top_temperature", 2.0, {"temperature": "degF"}) == "3.6 °F"
    assert difference("pressure", 0.1, {}) == "0.1 bar"


def test_what_is_typed_for_a_value_is_that_value() -> None:
    assert exact("belt_thickness", 2.125) == "2.125 mm"
    assert exact("guide_profile", "v_guided") == "v_guided"
    assert span("dwell_time", 170.0, 200.0, {}) == "170 to 200 s"
