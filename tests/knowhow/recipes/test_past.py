"""What past runs on a belt say."""

from __future__ import annotations

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.knowhow.recipes.answer import RecipeAnswer, Spread
from recorder.knowhow.recipes.past import answer, fits, named_for, spread
from recorder.knowhow.recipes.wilson import percent, share
from recorder.model.belt import Belt
from recorder.model.recipe import Bound, Window
from tests.knowhow.recipes.past_runs import BELT, NOW, recipe, run

RUNS = [
    run("a", 40, top_temperature=172.0, finger_gap=0.2),
    run("b", 30, top_temperature=174.0, press="p  600"),
    run("c", 20, top_temperature=170.0, press="P 900", pressure=None),
    run("d", 10, top_temperature=185.0, outcome="rejected", finger_gap=0.9),
    run("e", 5, top_temperature=199.0, outcome=None),
]


def window(material: str, thickness: tuple[float, float] | None = None) -> Window:
    bound = Bound(field="pressure", high=2.5)
    return Window(
        name="w", belt_material=material, thickness=thickness, bounds=(bound,), source="sheet 12"
    )


def test_outcomes_stand_side_by_side() -> None:
    found = answer(BELT, RUNS, [], [], [])
    assert found.exact
    assert found.exact.differs == ()
    accepted, rejected = found.exact.tried
    assert (accepted.outcome, accepted.jobs, accepted.runs) == ("accepted", 3, 3)
    assert (rejected.outcome, rejected.jobs, rejected.runs) == ("rejected", 1, 1)
    pressure, top = accepted.settings
    assert top == Spread(
        field="top_temperature", count=3, usual=172.0, low=170.0, high=174.0, spread=2.0
    )
    assert (pressure.count, pressure.usual) == (2, 2.2)
    assert [(s.field, s.count) for s in accepted.measured] == [("finger_gap", 1)]
    assert rejected.measured[0].usual == 0.9
    assert (accepted.last_job, accepted.last_at) == ("c", RUNS[2].at)
    assert accepted.last == {"top_temperature": 170.0}
    assert accepted.presses == (("p  600", 2), ("P 900", 1))
    assert found.unsettled == 1


def test_what_was_not_told_of_the_belt_and_differs_is_named() -> None:
    runs = [run("a"), run("b", belt_thickness=3.0), run("c", belt_thickness=None)]
    runs.append(run("d", belt_width=900.0, outcome=None))
    thin = Belt(belt_material=BELT.belt_material, guide_profile=BELT.guide_profile)
    found = answer(thin, runs, [], [], [])
    assert found.exact
    assert found.exact.pooled == ("belt_thickness",)
    told = answer(BELT, [run("a"), run("b")], [], [], [])
    assert told.exact
    assert told.exact.pooled == ()


def test_a_run_that_nobody_settled_counts_nowhere() -> None:
    found = answer(BELT, [run("e", outcome=None)], [], [], [])
    assert (found.exact, found.unsettled) == (None, 1)


def test_a_share_is_of_splices_by_their_last_run() -> None:
    runs = [
        run("a", run=1, outcome="rework"),
        run("a", run=2),
        run("a", splice=2, run=1, outcome="rejected"),
        run("b", splice=1, run=1, outcome="rework"),
        run("b", splice=1, run=2, outcome=None),
    ]
    found = answer(BELT, runs[::-1], [], [], [])
    assert found.exact
    assert found.exact.share == share(1, 2)
    assert [tried.runs for tried in found.exact.tried] == [1, 2, 1]


def test_without_a_material_nothing_is_said() -> None:
    width = Belt(belt_width=70.0)
    asked = answer(width, RUNS, [(BELT, RUNS)], [recipe("Oven")], [window("TPU")])
    assert asked == RecipeAnswer(asked=width)


def test_the_nearest_say_what_is_another() -> None:
    wide = BELT.model_copy(update={"belt_width": 90.0})
    untold = BELT.model_copy(update={"belt_width": 80.0})
    near = [(wide, [run("a")]), (untold, [run("b", outcome=None)])]
    found = answer(BELT, [], near, [], [])
    (nearest,) = found.nearest
    assert (nearest.belt, nearest.differs) == (wide, ("20 mm wider",))


@given(st.lists(st.floats(100, 200), min_size=1, max_size=30))
def test_the_usual_value_is_one_that_was_used(values: list[float]) -> None:
    found = spread("top_temperature", values)
    assert found
    assert found.usual in values
    assert found.low <= found.usual <= found.high
    if len(values) > 1:
        assert found.spread == pytest.approx(statistics.stdev(values))
    else:
        assert found.spread is None


def test_upper_bounds_are_counted_and_have_no_spread() -> None:
    runs = [run("a", finger_gap=0.15, gap_below=True), run("b", finger_gap=0.3)]
    found = answer(BELT, runs, [], [], [])
    assert found.exact
    (gap,) = found.exact.tried[0].measured
    assert (gap.count, gap.below, gap.usual, gap.spread) == (2, 1, 0.15, None)


def test_of_no_values_there_is_no_spread() -> None:
    assert spread("pressure", []) is None


def test_recipes_for_just_the_belt_come_first_and_retired_ones_never() -> None:
    general = recipe("Any TPU", belt=Belt(belt_material="tpu  cv-120A"), kept_at=NOW)
    exact = recipe("Oven", kept_at=NOW.replace(day=1))
    newer = recipe("Oven new", kept_at=NOW.replace(day=2))
    other = recipe("Thick", belt=BELT.model_copy(update={"belt_thickness": 3.0}))
    gone = recipe("Gone", retired=True)
    found = named_for(BELT, [other, general, exact, newer, gone])
    assert [each.name for each in found] == ["Oven new", "Oven", "Any TPU"]


@pytest.mark.parametrize(
    ("given", "fitting"),
    [
        (window("tpu"), True),
        (window("CV-120A TPU"), True),
        (window("PVC"), False),
        (window("PU"), False),  # whole words alone
        (window("..."), False),
        (window("TPU", (1.0, 2.0)), True),
        (window("TPU", (2.0, 3.0)), True),
        (window("TPU", (2.0 + 1e-12, 3.0)), True),  # an inch comes back with a rounding
        (window("TPU", (2.1, 3.0)), False),
    ],
)
def test_a_window_fits_by_words_and_thickness(given: Window, fitting: bool) -> None:
    assert fits(given, BELT) is fitting
    assert answer(BELT, [], [], [], [given]).windows == ((given,) if fitting else ())


def test_an_unknown_thickness_is_of_no_window_that_names_one() -> None:
    belt = Belt(belt_material="TPU")
    assert fits(window("TPU"), belt)
    assert not fits(window("TPU", (0.0, 1e6)), belt)


@pytest.mark.parametrize(
    ("part", "told"),
    [
        (0.0, "0"),
        (0.001, "<1"),
        (0.006, "1"),
        (0.5, "50"),
        (0.994, "99"),
        (0.999, ">99"),
        (1.0, "100"),
    ],
)
def test_a_share_that_is_not_all_does_not_read_as_all(part: float, told: str) -> None:
    assert percent(part) == told


def test_a_wrong_share_is_refused() -> None:
    for accepted, of in ((2, 1), (-1, 1)):
        with pytest.raises(ValueError, match="no share"):
            share(accepted, of)
    assert share(0, 0).model_dump() == {"accepted": 0, "of": 0, "low": 0.0, "high": 1.0}
