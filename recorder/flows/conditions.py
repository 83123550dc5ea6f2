"""A condition as a person types it: ``top_temperature>=350degF``, ``belt_width=60mm..80mm``."""

from __future__ import annotations

import dataclasses
import re

from recorder.archive.finding.fields import known_field
from recorder.archive.finding.search import Range
from recorder.errors import BadValue, WrongUse
from recorder.flows.moments import stretch
from recorder.model.fields import Field, Kind
from recorder.model.reading import Typed
from recorder.notes.typed import typed_quantity, typed_reading

_CONDITION = re.compile(r"\s*(\w[\w -]*?)\s*((?>[=<>!~]+))\s*(\S.*?)\s*", re.DOTALL)
_SIGNS = {sign: sign for sign in ("=", ">=", "<=", ">", "<")} | {"==": "="}
_NUMBER = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+))\s*", re.ASCII)
_WORDS = (Kind.TEXT, Kind.CHOICE, Kind.FLAG)


def condition(text: str) -> Range:
    """FIELD, one of = >= <= > <, and a value; with = also LOW..HIGH, both included.

    Numbers without a unit are in the field's own, LOW in that of HIGH; a time is ISO 8601, a day,
    month or year alone means all of it.
    Raises WrongUse, UnknownField, UnknownUnit, BadValue.
    """
    parts = _CONDITION.fullmatch(text)
    if not parts:
        detail = f"{text!r} is no condition such as 'top_temperature>=350degF'"
        raise WrongUse(detail=detail, command="search")
    field = known_field(parts[1])
    name, sign, value = field.name, _SIGNS.get(parts[2]), parts[3]
    if sign is None:
        detail = f"{parts[2]!r} in {text!r} compares nothing; use one of = >= <= > <"
        raise WrongUse(detail=detail, command="search")
    if field.kind in _WORDS:
        if sign != "=":
            hint = "only numbers and times have an order: use '='"
            raise BadValue(value=f"{parts[2]}{value}", field=name, hint=hint)
        return Range(name, equals=_word(value, field))
    low, dots, high = value.partition("..")
    if dots and sign != "=":
        raise BadValue(value=value, field=name, hint="use '=' before LOW..HIGH")
    if dots and field.unit:
        low = _with_unit(low, high, field)
    bounds = _bounds(low, field)
    if dots:
        upper = _bounds(high, field)
        if (bounds.low or 0.0) > (upper.high or 0.0):
            raise BadValue(value=value, field=name, hint="LOW..HIGH runs from low to high")
        return dataclasses.replace(bounds, high=upper.high, high_open=upper.high_open)
    return {
        "=": bounds,
        ">=": Range(name, low=bounds.low),
        "<": Range(name, high=bounds.low, high_open=True),
        "<=": dataclasses.replace(bounds, low=None),
        ">": Range(name, low=bounds.high, low_open=not bounds.high_open),
    }[sign]


def _with_unit(low: str, high: str, field: Field) -> str:
    """LOW, with the unit of HIGH where that has one alone, as in '30..40psi'.

    Raises BadValue where it cannot be told what a bare number at one end is meant in.
    """
    bare = [bool(_NUMBER.fullmatch(text)) for text in (low, high)]
    if bare == [True, False]:
        number = _NUMBER.match(high)
        unit = high[number.end() :] if number else ""
        if unit and not any(map(str.isdecimal, unit)):
            return f"{low} {unit}"
    elif bare != [False, True] or typed_quantity(field, low).unit == field.unit:
        return low
    raise BadValue(value=f"{low}..{high}", field=field.name, hint="give both ends their unit")


def _bounds(text: str, field: Field) -> Range:
    """All that a value can mean: a number is itself, a day is from midnight to midnight."""
    if field.kind is Kind.TIME:
        return _time(text, field)
    number = _number(text, field)
    return Range(field.name, number, number)


def _number(text: str, field: Field) -> float:
    """In the canonical unit, which a number without a unit has."""
    bare = _NUMBER.fullmatch(text)
    if bare:
        return float(bare[1])
    if field.unit is None:
        raise BadValue(value=text, field=field.name, hint="give a number without a unit")
    return typed_quantity(field, text).to(field.unit).value


def _time(text: str, field: Field) -> Range:
    first, end = (moment.timestamp() for moment in stretch(text, field.name))
    return Range(field.name, first, end, high_open=end > first)


def _word(text: str, field: Field) -> str | bool | float:
    if field.kind is Kind.TEXT:
        return text
    return typed_reading(field.name, text, Typed()).value
