"""Which settings are asked about."""

from __future__ import annotations

import pytest

from recorder.knowhow.recipes.answer import RecipeAnswer
from recorder.knowhow.recipes.deviating import counting, deviations, measures
from recorder.knowhow.recipes.past import answer
from recorder.model.belt import Belt
from recorder.model.past import PastRun
from recorder.model.recipe import Bound, Recipe, Window
from tests.knowhow.recipes.past_runs import BELT, NOW, recipe, run

THREE = [run(job, top_temperature=top) for job, top in (("a", 170.0), ("b", 172.0), ("c", 174.0))]
WINDOW = Window(
    name="TPU 2 mm", belt_material="TPU", source="sheet 12",
    bounds=(Bound(field="top_temperature", low=165.0, high=180.0), Bound(field="pressure", high=2)),
)  # fmt: skip


def known(
    *recipes: Recipe, runs: list[PastRun] | None = None, window: bool = False
) -> RecipeAnswer:
    return answer(BELT, runs or [], [], recipes, [WINDOW] if window else [])


@pytest.mark.parametrize(
    ("top", "asked_about"),
    [
        (170.0, False),
        (175.0, False),
        (175.5, False),
        (175.51, True),
        (169.5, False),
        (169.49, True),
    ],
)
def test_what_does_not_show_is_no_difference(top: float, asked_about: bool) -> None:
    found = deviations({"top_temperature": top}, known(recipe("Oven")))
    assert bool(found) is asked_about
    if found:
        assert (found[0].low, found[0].high) == (170.0, 175.0)
        assert (found[0].against, found[0].whose) == ("recipe", "recipe Oven, version 1")


def test_a_recipe_counts_before_past_jobs() -> None:
    wide = recipe("Oven", low=150.0, high=190.0)
    assert deviations({"top_temperature": 185.0}, known(wide, runs=THREE)) == ()


def test_past_jobs_count_where_the_recipe_says_nothing() -> None:
    found = deviations({"pressure": 3.0}, known(recipe("Oven"), runs=THREE))
    (one,) = found
    assert (one.against, one.low, one.high) == ("past", 2.2, 2.2)
    assert one.whose == "3 accepted runs on such a belt"


def test_two_accepted_runs_are_not_enough() -> None:
    assert deviations({"top_temperature": 200.0}, known(runs=THREE[:2])) == ()
    failed = [run(j, outcome="rejected") for j in "defg"]
    assert deviations({"top_temperature": 200.0}, known(runs=[*THREE[:2], *failed])) == ()


def test_the_nearest_belts_are_no_measure() -> None:
    wide = BELT.model_copy(update={"belt_width": 90.0})
    found = answer(BELT, [], [(wide, THREE)], [], [])
    assert found.nearest
    assert deviations({"top_temperature": 200.0}, found) == ()


def test_the_belt_makers_window_is_asked_about_besides() -> None:
    told = {"pressure": 2.2, "top_temperature": 185.0, "dwell_time": 999.0}
    found = deviations(told, known(recipe("Oven"), window=True))
    assert [(d.field, d.against, d.low, d.high) for d in found] == [
        ("pressure", "window", None, 2.0),
        ("top_temperature", "recipe", 170.0, 175.0),
        ("top_temperature", "window", 165.0, 180.0),
    ]
    assert found[0].whose == "the belt maker's window TPU 2 mm (sheet 12)"


def test_the_recipe_of_this_press_counts_else_the_newest() -> None:
    old = recipe("Old", press="P 900", kept_at=NOW.replace(day=1))
    new = recipe("New", press="P 600", kept_at=NOW.replace(day=9))
    general = recipe("TPU", belt=Belt(belt_material="TPU CV-120A"), press="P 900", kept_at=NOW)
    found = known(old, new, general)
    for press, expected in (("p 900", old), ("P 600", new), ("P 1", new), (None, new)):
        assert counting(found, press) == expected
    assert counting(known(general)) == general
    assert counting(known()) is None


def test_what_it_was_held_against_is_told() -> None:
    top, both = {"top_temperature": 172.0}, {"top_temperature": 172.0, "pressure": 2.2}
    maker = "the belt maker's window TPU 2 mm (sheet 12)"
    everything = known(recipe("Oven"), runs=THREE, window=True)
    assert measures(top, everything) == ("recipe Oven, version 1", maker)
    assert measures(both, everything) == (
        "recipe Oven, version 1", "3 accepted runs on such a belt", maker,
    )  # fmt: skip
    assert measures({"dwell_time": 1.0}, everything) == ()
    assert measures(top, known(runs=THREE[:2])) == ()
