"""A condition as a person types it: ``top_temperature>=350degF``, ``belt_width=60mm..80mm``."""

from __future__ import annotations

import dataclasses
import re
from datetime import datetime, timedelta

from recorder.archive.finding.search import Range, known_field
from recorder.errors import BadValue, WrongUse
from recorder.model.fields import Field, Kind
from recorder.notes.typed import typed_quantity

_CONDITION = re.compile(r"\s*(\w+)\s*((?>>=|<=|==?|>|<))\s*(\S.*?)\s*", re.DOTALL)
_NUMBER = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+))\s*", re.ASCII)
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}


def condition(text: str) -> Range:
    """FIELD, one of = >= <= > <, and a value; with = also LOW..HIGH, both included.

    Numbers without a unit are in the field's own; a time is ISO 8601, a day alone means all of it.
    Raises WrongUse, UnknownField, UnknownUnit, BadValue.
    """
    parts = _CONDITION.fullmatch(text)
    if not parts:
        detail = f"{text!r} is no condition such as 'top_temperature>=350degF'"
        raise WrongUse(detail=detail, command="search")
    name, sign, value = parts.groups()
    sign = sign.replace("==", "=")
    field = known_field(name)
    if field.kind in (Kind.TEXT, Kind.CHOICE, Kind.FLAG):
        if sign != "=":
            raise BadValue(value=value, field=name, hint="use '=' with this field")
        return Range(name, equals=_flag(value, field) if field.kind is Kind.FLAG else value)
    low, dots, high = value.partition("..")
    if dots and sign != "=":
        raise BadValue(value=value, field=name, hint="use '=' before LOW..HIGH")
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
    try:
        at = datetime.fromisoformat(text.strip())
        first = at.astimezone().timestamp()
        day_alone = len(text.strip()) <= len("2026-11-25")
        end = (at + timedelta(days=1)).astimezone().timestamp() if day_alone else first
    except (ValueError, OverflowError) as error:
        hint = "give a time as 2026-11-25 or 2026-11-25T08:00"
        raise BadValue(value=text, field=field.name, hint=hint) from error
    return Range(field.name, first, end, high_open=day_alone)


def _flag(text: str, field: Field) -> bool:
    if text.casefold() not in _FLAGS:
        raise BadValue(value=text, field=field.name, hint="use yes or no")
    return _FLAGS[text.casefold()]
