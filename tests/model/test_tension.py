"""Elongation from the tension marks."""

from __future__ import annotations

import pytest

from recorder.model.reading import Reading, Standing, Typed
from recorder.model.tension import elongation, from_marks, untold


def known(**values: float) -> dict[str, Reading]:
    return {
        name: Reading(
            field=name,
            value=value,
            unit="percent" if name == "elongation" else "mm",
            standing=Standing.CONFIRMED,
            evidence=Typed(),
        )
        for name, value in values.items()
    }


def test_it_is_what_the_marks_moved_apart() -> None:
    assert elongation(1000.0, 1012.0) == pytest.approx(1.2)
    assert elongation(40.0, 40.5) == pytest.approx(1.25)
    assert elongation(1000.0, 990.0) == pytest.approx(-1.0)


@pytest.mark.parametrize("pair", [(0.0, 10.0), (10.0, 0.0), (-5.0, 10.0)])
def test_marks_have_a_distance(pair: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="need a distance"):
        elongation(*pair)


def test_both_marks_are_needed_and_none_may_be_doubtful() -> None:
    told = known(tension_mark_before=1000, tension_mark_after=1004)
    assert from_marks(told) == pytest.approx(0.4)
    assert from_marks(known(tension_mark_before=1000)) is None
    assert from_marks(known(tension_mark_before=0, tension_mark_after=4)) is None
    doubtful = told["tension_mark_after"].model_copy(update={"standing": Standing.DOUBTFUL})
    assert from_marks(told | {"tension_mark_after": doubtful}) is None


def test_it_is_told_once_unless_the_marks_say_another() -> None:
    marks = {"tension_mark_before": 1000.0, "tension_mark_after": 1004.0}
    assert untold(known(**marks)) == pytest.approx(0.4)
    assert untold(known(**marks, elongation=0.43)) is None
    assert untold(known(**marks, elongation=1.4)) == pytest.approx(0.4)
