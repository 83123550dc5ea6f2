"""Quantities of several units said as one: "five foot two", "2 h 30 min", "an hour and a half"."""

from __future__ import annotations

from dataclasses import replace

from recorder.model.units import UNITS, convert
from recorder.notes.numbers.amount import Amount
from recorder.notes.numbers.fractions import fraction_at
from recorder.notes.numbers.number_words import word_at
from recorder.notes.numbers.numbers import Number, number_at
from recorder.notes.numbers.unit_words import unit_at
from recorder.notes.words.lexer import Tokens

# Units that are said as one quantity, larger before smaller: "five foot two", "2 h 30 min".
_CHAINS = (
    ("year", "month", "week", "day", "hour", "min", "s", "ms"),
    ("mile", "yard", "foot", "inch"),
    ("km", "m", "dm", "cm", "mm"),
)
# "Five foot two", "twelve minutes thirty": the smaller unit may stay unsaid.
_UNSAID = {"foot": "inch", "min": "s", "hour": "min", "m": "cm"}
_AFTER_UNSAID = {".", ",", ";", "!", "?", "and", "on", "is", "was", "wide", "long", "tall", "high"}
_ABBREVIATED = {"ft", "yd", "yds", "hr", "hrs", "min", "mins"}
_PRIMES = {"'", "’", "′"}
_CONNECTORS = {"and", ",", "&"}


def compound(tokens: Tokens, first: Amount) -> Amount | None:
    """The quantity that goes on after its first unit, or None when it does not."""
    if first.value != int(first.value) or first.unit is None:
        return None
    k = _after_connector(tokens, first)
    joined = k > first.end and tokens[k - 1].text != "-"
    if k >= len(tokens):
        return None
    if word_at(tokens, k - 1) == "and":
        part = fraction_at(tokens, k)
        if part and unit_at(tokens, part[1]) is None and of_a(tokens, part[1]) is None:
            return replace(first, value=first.value + part[0], end=part[1])
    number = number_at(tokens, k)
    if number is None or number.value < 0:
        return None
    unit = unit_at(tokens, number.end)
    # After feet "in" is of inches, whatever follows it.
    if unit is None and first.unit == "foot" and word_at(tokens, number.end) == "in":
        unit = ("inch", number.end + 1)
    if unit is None:
        return None if joined else _unsaid(tokens, first, number)
    # Of 3′ 20″ the twenty can be no inches.
    primes = unit[0] == "inch" and word_at(tokens, first.end - 1) in _PRIMES
    if primes and 12 <= number.value < 60:
        first, unit = replace(first, unit="min"), ("s", unit[1])
    # "1h30m", "3m30s": then the m is of minutes.
    if (first.unit, unit[0]) == ("hour", "m"):
        unit = ("min", unit[1])
    elif (first.unit, unit[0]) == ("m", "s"):
        first = replace(first, unit="min")
    return _goes_on(tokens, first, number, unit)


def _goes_on(tokens: Tokens, first: Amount, number: Number, unit: tuple[str, int]) -> Amount | None:
    """The sum of what came so far and of a smaller unit, and of those that follow it."""
    factor = how_many(first.unit, unit[0])
    if not factor or number.value >= factor:
        return None
    tail = Amount(number.value, unit[0], number.start, unit[1], number)
    tail = compound(tokens, tail) or tail
    whole = convert(first.value, first.unit or "", tail.unit or "") + tail.value
    return Amount(whole, tail.unit, first.start, tail.end, first.number)


def _after_connector(tokens: Tokens, first: Amount) -> int:
    """Where the next part begins: after "and", a comma, both of them, or a glued hyphen.

    In "5 ft. 10 in." the full stop is of the abbreviation.
    """
    k = first.end
    if k < len(tokens) and tokens[k].text == "-" and tokens[k].glued:
        return k + 1
    if word_at(tokens, k) == "." and tokens[k].glued and word_at(tokens, k - 1) in _ABBREVIATED:
        return k + 1
    if word_at(tokens, k) == "," and word_at(tokens, k + 1) == "and":
        return k + 2 if UNITS[first.unit or ""].dimension == "time" else k + 1
    return k + 1 if word_at(tokens, k) in _CONNECTORS else k


def how_many(large: str | None, small: str | None) -> float | None:
    """How many of the smaller unit make the larger, when the two are said as one quantity."""
    for chain in _CHAINS:
        if large in chain and small in chain and chain.index(large) < chain.index(small):
            return convert(1.0, large or "", small or "")
    return None


def _unsaid(tokens: Tokens, first: Amount, number: Number) -> Amount | None:
    """As in "five foot two"; not "three minutes 172 degrees", nor "three minutes two fingers"."""
    smaller = _UNSAID.get(first.unit or "")
    factor = how_many(first.unit, smaller)
    if not factor or number.value >= factor:
        return None
    if first.unit != "foot" and number.value != int(number.value):
        return None
    closed = number.end >= len(tokens) or tokens[number.end].text in _AFTER_UNSAID
    # "1h05"
    run_on = tokens[number.start].glued and len(tokens[number.start].raw) == 2
    if first.unit != "foot" and not run_on and (number.value < 10 or not closed):
        return None
    value = first.value * factor + number.value
    return Amount(value, smaller, first.start, number.end, first.number)


def of_a(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The unit after "half a", "three quarters of an", "quarter of a"."""
    j = i + 1 if i < len(tokens) and tokens[i].text == "of" else i
    if j < len(tokens) and tokens[j].text in {"a", "an"}:
        return unit_at(tokens, j + 1)
    return None
