"""Answers of a word or two to a question about a field, and values told loosely."""

from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from recorder.notes.answer import answer
from recorder.notes.written import from_text
from tests.notes.telling import Value, states

CLEAR: list[tuple[str, str, Value]] = [
    ("bubbles", "none", False),
    ("bubbles", "Yeah, a few.", True),
    ("splice_type", "overlap", "overlap"),
    ("splice_type", "it's double finger", "double_finger"),
    ("supply_phases", "three", 3.0),
    ("guide_profile", "flat", "flat"),
    ("isolation_confirmed", "not yet", False),
]


@pytest.mark.parametrize(("field", "said", "value"), CLEAR)
def test_a_whole_answer_is_read(field: str, said: str, value: Value) -> None:
    (found,) = answer(from_text(said, "answer.txt"), field).readings
    assert (found.field, found.value, found.standing) == (field, value, Standing.CLEAR)


def test_good_is_asked_once_more() -> None:
    (found,) = answer(from_text("good", "answer.txt"), "outcome").readings
    assert (found.value, found.standing) == ("accepted", Standing.DOUBTFUL)


def test_what_is_now_counts() -> None:
    said = from_text("it was 175 degrees C but now 178 degrees C", "answer.txt")
    found = answer(said, "top_temperature").readings[-1]
    assert (found.value, found.standing) == (178.0, Standing.CLEAR)


@pytest.mark.parametrize("said", ["seventeen", "a few", "three hundred"])
def test_an_impossible_count_is_none(said: str) -> None:
    assert answer(from_text(said, "answer.txt"), "supply_phases").readings == ()


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("Outcome: OK.", "outcome", "accepted"),
        ("Pressed for 180 seconds.", "dwell_time", 180.0),
    ],
)
def test_told_loosely_is_asked(text: str, field: str, value: Value) -> None:
    assert states(text) == {field: (value, Standing.DOUBTFUL)}
