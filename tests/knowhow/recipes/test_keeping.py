"""Which recipe comes of past runs."""

from __future__ import annotations

from typing import Any

import pytest

from recorder.errors import CannotKeep
from recorder.knowhow.recipes.keeping import Side, compare, kept
from recorder.model.recipe import Recipe, Setting
from tests.knowhow.recipes.past_runs import BELT, NOW, recipe, run


def keep(*runs: Any) -> Recipe:
    return kept(runs, "own", 1, "Oven", NOW, "Imke Dorn", "it held")


def test_values_are_those_of_the_last_run_and_ranges_of_the_same_belt_and_press() -> None:
    found = keep(
        run("own", run=1, outcome="rework", top_temperature=190.0),
        run("own", run=2, top_temperature=172.0),
        run("a", 5, top_temperature=170.0),
        run("b", 9, top_temperature=176.0, press="p  600"),
        run("failed", top_temperature=199.0, outcome="rejected"),
        run("open", top_temperature=198.0, outcome=None),
        run("elsewhere", top_temperature=150.0, press="P 900"),
        run("unnamed", top_temperature=151.0, press=None),
        run("wider", top_temperature=152.0, belt_width=90.0),
        run("more is told", top_temperature=153.0, finger_pitch=10.0),
    )
    assert found.settings == (
        Setting(field="pressure", value=2.2, low=2.2, high=2.2),
        Setting(field="top_temperature", value=172.0, low=170.0, high=176.0),
    )
    assert (found.belt, found.press, found.jobs) == (BELT, "P 600", ("own", "a", "b"))
    assert (found.name, found.version, found.kept_at) == ("Oven", 1, NOW)
    assert (found.kept_by, found.reason, found.retired) == ("Imke Dorn", "it held", False)


def test_without_a_press_no_other_job_counts() -> None:
    found = keep(run("own", press=None), run("a", top_temperature=160.0, press=None))
    assert found.setting("top_temperature") == Setting(
        field="top_temperature", value=172.0, low=172.0, high=172.0
    )
    assert found.jobs == ("own",)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"outcome": "rejected"}, "came out as rejected"),
        ({"outcome": "rework"}, "came out as rework"),
        ({"outcome": None}, "is not settled"),
        ({"belt_material": None}, "the material of its belt is not settled"),
        ({"pressure": None, "top_temperature": None}, "no setting of splice 1 is settled"),
        ({"splice": 2}, "nothing is known of a press run of splice 1"),
    ],
)
def test_what_is_no_ground_for_a_recipe(changes: dict[str, Any], why: str) -> None:
    with pytest.raises(CannotKeep, match=why):
        keep(run("own", **changes), run("a"))


def test_an_earlier_accepted_run_is_none() -> None:
    with pytest.raises(CannotKeep, match="rejected"):
        keep(run("own", run=1), run("own", run=2, outcome="rejected"))


def test_two_sides_setting_by_setting() -> None:
    thick = run("b", job_number="4817", belt_thickness=3.0, top_temperature=180.0, dwell_time=200.0)
    found = compare(Side.of_recipe(recipe("Oven", retired=True)), Side.of_run(thick))
    assert (found.one.title, found.other.title) == (
        "Oven, version 1, retired", "job 4817, splice 1",
    )  # fmt: skip
    assert found.belt == ("belt_thickness",)
    rows = {row.field: row for row in found.rows}
    assert list(rows) == ["pressure", "top_temperature", "dwell_time"]
    assert rows["pressure"].one is None
    assert (rows["top_temperature"].one, rows["top_temperature"].same) == (
        Setting(field="top_temperature", value=172.0, low=170.0, high=175.0), False,
    )  # fmt: skip
    assert all(row.same for row in compare(found.one, found.one).rows)
