"""Several splices told of at once, and names with numbers, letters and titles in them."""

from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from tests.notes.telling import Value, states, told

CLEAR: dict[str, dict[str, Value]] = {
    "Job number 4817-B.": {"job_number": "4817-B"},
    "Job number four eight one seven A.": {"job_number": "4817A"},
    "Job number 4817 I think.": {"job_number": "4817"},
    "Customer: Mr. Top.": {"customer": "Mr. Top"},
    "Customer: St. John's Bakery.": {"customer": "St. John's Bakery"},
    "Three phase.": {"supply_phases": 3.0},
    "Splice type finger.": {"splice_type": "finger"},
    "Belt 70 x 2 mm.": {"belt_width": 70.0, "belt_thickness": 2.0},
    "Belt: 70mmx2mm.": {"belt_width": 70.0, "belt_thickness": 2.0},
    "Conveyor number 7.": {"conveyor": "7"},
    "Press number 3, template number 12.": {"press": "3", "template": "12"},
    "Job no. 4817. Press no. 3.": {"job_number": "4817", "press": "3"},
}


@pytest.mark.parametrize(("text", "expected"), CLEAR.items())
def test_names_are_whole(text: str, expected: dict[str, Value]) -> None:
    assert states(text) == {name: (value, Standing.CLEAR) for name, value in expected.items()}


@pytest.mark.parametrize(
    "text",
    ["Two splices today. Top 175 C for both.", "All splices: top 175 C.", "Both splices accepted."],
)
def test_what_holds_for_several_is_asked_while_one_is_known(text: str) -> None:
    assert [standing for _, standing in states(text).values()] == [Standing.DOUBTFUL]


def test_both_splices_when_two_are_known() -> None:
    heard = told("Splice one top 172 C. Second splice top 173 C. Both splices accepted.")
    found = [(r.field, r.splice, r.standing) for r in heard.readings if r.field == "outcome"]
    assert found == [("outcome", 1, Standing.CLEAR), ("outcome", 2, Standing.CLEAR)]


def test_a_unit_after_it_makes_it_no_name() -> None:
    assert "press" not in states("Press number 3 bar.")


def test_the_same_is_no_value_of_another_kind() -> None:
    assert "pressure" not in states("Same pressure, top and bottom 182.")
    assert "cool_down_temperature" not in states("Top platen 172 C, cool down the same.")
