"""The number grammar, as people say numbers and as recognisers write them."""

from __future__ import annotations

import pytest

from recorder.notes.numbers.numbers import number_at
from recorder.notes.words.lexer import tokens_of


def value_of(text: str) -> float | None:
    """The number at the start of the text when it takes all of it."""
    tokens = tokens_of(text)
    number = number_at(tokens, 0)
    return number.value if number and number.end == len(tokens) else None


SPOKEN = {
    "one seventy five": 175,
    "one seven five": 175,
    "a hundred and seventy-five": 175,
    "one hundred seventy five": 175,
    "seven oh three": 703,
    "one oh five": 105,
    "double two one": 221,
    "triple five": 555,
    "eleven hundred": 1100,
    "two thousand and five": 2005,
    "a thousand": 1000,
    "twelve fifty": 1250,
    "minus five": -5,
    "negative twelve": -12,
    "two point two five": 2.25,
    "two point twenty-five": 2.25,
    "two point oh five": 2.05,
    "nought point eight": 0.8,
    "point eight": 0.8,
    "oh point eight": 0.8,
    "two and a half": 2.5,
    "two and a quarter": 2.25,
    "one and three quarters": 1.75,
    "three-eighths": 0.375,
    "five sixteenths": 0.3125,
    "a third": 1 / 3,
    "a hundred and one and a half": 101.5,
}

WRITTEN = {
    "172": 172,
    "1,250": 1250,
    "12,500.5": 12500.5,
    "2.25": 2.25,
    "2,25": 2.25,
    ".8": 0.8,
    "-5": -5,
    "−5": -5,
    "1 72": 172,
    "1 7 2": 172,
    "4-8-1-7": 4817,
    "4 8 1 7": 4817,
    "48 17": 4817,
    "30-2": 32,
    "2 point 2": 2.2,
    "2 point 2 5": 2.25,
    "2½": 2.5,
    "1 1/2": 1.5,
    "2-1/2": 2.5,
    "3/8": 0.375,
    "2 hundred": 200,
}


@pytest.mark.parametrize(("text", "value"), [*SPOKEN.items(), *WRITTEN.items()])
def test_value(text: str, value: float) -> None:
    assert value_of(text) == pytest.approx(value, abs=1e-12)


@pytest.mark.parametrize(
    "text", ["1.2.3", "T30-10", "2026-11-25", "3:30", "oh", "point", "the", "9" * 40]
)
def test_no_number(text: str) -> None:
    assert value_of(text) is None


@pytest.mark.parametrize(
    ("text", "digits"),
    [("oh four one seven", "0417"), ("four eight one seven", "4817"), ("two point two", "")],
)
def test_digits_keep_their_zeros(text: str, digits: str) -> None:
    number = number_at(tokens_of(text), 0)
    assert number is not None
    assert number.digits == digits


def test_number_stops_where_the_next_begins() -> None:
    tokens = tokens_of("two point two, fifty five degrees")
    number = number_at(tokens, 0)
    assert number is not None
    assert (number.value, number.end) == (2.2, 3)


def test_a_point_in_place_or_time_is_no_decimal_point() -> None:
    assert number_at(tokens_of("this point two fingers"), 1) is None
