"""What was told is taken back, denied or moved: the old value does not stay clear."""

from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from tests.notes.telling import Value, states

CORRECTED: dict[str, tuple[str, Value]] = {
    "Splice type overlap. Actually finger.": ("splice_type", "finger"),
    "It's a finger splice. No, make that overlap.": ("splice_type", "overlap"),
    "Top 175 degrees. Oh no, it's 172.": ("top_temperature", 172.0),
    "Bottom 170 degrees. Change that to 172.": ("bottom_temperature", 172.0),
    "Pressure two bar. Oops, two point three.": ("pressure", 2.3),
    "Pressure 2.2 bar, wait, no. Two point three.": ("pressure", 2.3),
    "Pressure 2.2 bar. That was wrong. 2.3 bar.": ("pressure", 2.3),
}


@pytest.mark.parametrize(("text", "expected"), CORRECTED.items())
def test_the_new_value_holds(text: str, expected: tuple[str, Value]) -> None:
    assert states(text) == {expected[0]: (expected[1], Standing.CLEAR)}


TAKEN_BACK: dict[str, dict[str, Value]] = {
    "Pressure 2.2 bar, wait, no.": {"pressure": 2.2},
    "Pressure 2.2 bar. That was wrong.": {"pressure": 2.2},
    "Pressure 2.2 bar. No, that's not right, I'll check.": {"pressure": 2.2},
    "Pressure 2.2 bar. Forget what I said about the pressure.": {"pressure": 2.2},
    "Undo that. Pressure 2 bar. Undo the last one.": {"pressure": 2.0},
    "Top 175. Should be 172.": {"top_temperature": 175.0},
    "Top 175. No, it's two fingers.": {"top_temperature": 175.0},
    "Both platens 175 degrees. Scratch that.": {
        "top_temperature": 175.0,
        "bottom_temperature": 175.0,
    },
    "Top 175, bottom 170. No, the other way round.": {
        "top_temperature": 175.0,
        "bottom_temperature": 170.0,
    },
    "I see a bubble. No, it's dirt.": {"bubbles": True},
    "I thought there were bubbles but it was dust.": {"bubbles": True},
    "No bubbles except one at the edge.": {"bubbles": False},
    "Bubbles? No.": {"bubbles": False},
    "Bubbles, no.": {"bubbles": False},
    "Isolation confirmed? No.": {"isolation_confirmed": False},
}


@pytest.mark.parametrize(("text", "expected"), TAKEN_BACK.items())
def test_what_was_taken_back_is_asked(text: str, expected: dict[str, Value]) -> None:
    assert states(text) == {name: (value, Standing.DOUBTFUL) for name, value in expected.items()}


@pytest.mark.parametrize(
    "text",
    ["Top one seventy five, I meant bottom one seventy five.", "Top 175. I meant bottom 175."],
)
def test_a_value_that_moved_is_asked_where_it_was(text: str) -> None:
    assert states(text) == {
        "top_temperature": (175.0, Standing.DOUBTFUL),
        "bottom_temperature": (175.0, Standing.CLEAR),
    }


@pytest.mark.parametrize(
    "text",
    [
        "Pressure 2.2 bar. Did it beep? No.",
        "Pressure 2.2 bar. The hose leaks. No, it's the valve.",
        "Pressure 2.2 bar. Undo that. Pressure 2.2 bar.",
    ],
)
def test_a_no_to_something_else_takes_nothing_back(text: str) -> None:
    assert states(text) == {"pressure": (2.2, Standing.CLEAR)}


def test_looking_for_bubbles_finds_none() -> None:
    assert states("Checked for bubbles.") == {}
    assert states("Looked and found bubbles.") == {"bubbles": (True, Standing.CLEAR)}
