"""What can stand at a key of the firm's lists, each with what a person is told to write instead."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime

from recorder.model.fields import FIELDS, choice_label
from recorder.model.inventory import Span
from recorder.model.units import UNITS, amount, convert, units_of

LONGEST_TEXT = 200
_EXAMPLES = {"mm": "600 mm", "degC": "220 degC", "bar": "3 bar", "s": "3 min"}
_SPANS = {
    "mm": "60 mm..600 mm", "degC": "170 degC..180 degC", "bar": "2 bar..3 bar", "s": "2 min..3 min",
}  # fmt: skip
_ABSOLUTE_ZERO = -273.15  # degC


def words(value: object) -> str:
    """A text in one line."""
    plain = " ".join(str(value).split()) if isinstance(value, str | int) else ""
    if isinstance(value, bool) or not plain:
        raise ValueError("write it as text in quotation marks")
    if not plain.isprintable() or len(plain) > LONGEST_TEXT:
        raise ValueError(f"write up to {LONGEST_TEXT} letters, digits and blanks")
    return plain


def in_unit(unit: str) -> Callable[[object], float]:
    """A quantity with its unit, converted; above zero where it is a length or pressure."""

    def shape(value: object) -> float:
        return _converted(value, unit)

    return shape


def span_in(unit: str) -> Callable[[object], Span]:
    """'60 mm..600 mm', both included; '60..600 mm' has one unit for both."""

    def shape(value: object) -> Span:
        low, dots, high = str(value).partition("..")
        if not isinstance(value, str) or not dots:
            raise ValueError(f"{value!r} is no span; write for example '{_SPANS[unit]}'")
        if re.fullmatch(r"\s*\d+(?:[.,]\d+)?\s*", low, re.ASCII):
            low += " " + re.sub(r"^[\s\d.,]+", "", high)
        span = (_converted(low, unit), _converted(high, unit))
        if span[0] > span[1]:
            raise ValueError(f"{value!r} runs from high to low")
        return span

    return shape


def choice(field: str) -> Callable[[object], str]:
    """One of a field's choices, as the catalogue or a page spells it."""

    def shape(value: object) -> str:
        return _chosen(str(value), field)

    return shape


def choices(field: str) -> Callable[[object], tuple[str, ...]]:
    """Some of them: a list, or a text with commas, semicolons, slashes or bars between them."""

    def shape(value: object) -> tuple[str, ...]:
        told = value if isinstance(value, list) else re.split(r"[,;/|]", str(value))
        return tuple(dict.fromkeys(_chosen(str(each), field) for each in told if str(each).strip()))

    return shape


def day(value: object) -> date:
    """A day as ISO 8601 has it."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    try:
        return date.fromisoformat(str(value))
    except ValueError as error:
        raise ValueError(f"{str(value)!r} is no day; write for example 2026-10-01") from error


def days(value: object) -> int:
    """A number of days; pydantic says which."""
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{1,6}", value.strip(), re.ASCII):
        return int(value)
    raise ValueError(f"{str(value)!r} is no whole number of days")


def _converted(value: object, unit: str) -> float:
    example = _EXAMPLES[unit]
    if not isinstance(value, str) or re.fullmatch(r"\s*[-+]?[\d.,]+\s*", value, re.ASCII):
        raise ValueError(f"{value} has no unit; write for example '{example}'")
    number, found = amount(value)
    dimension = UNITS[unit].dimension
    if UNITS[found].dimension != dimension:
        raise ValueError(f"{value!r} is no {dimension}; use {', '.join(units_of(dimension)[:5])}")
    if dimension != "temperature" and number <= 0:
        raise ValueError(f"{value!r} must be above zero")
    converted = convert(number, found, unit)
    if dimension == "temperature" and converted < _ABSOLUTE_ZERO:
        raise ValueError(f"{value!r} is below absolute zero")
    return converted


def _chosen(text: str, field: str) -> str:
    known = FIELDS[field].choices
    plain = re.sub(r"[\s-]+", "_", text.strip().casefold())
    spellings = {re.sub(r"[\s-]+", "_", choice_label(each).casefold()): each for each in known}
    spellings |= {each: each for each in known}
    if plain not in spellings:
        raise ValueError(f"{text.strip()!r} is none of {', '.join(known)}")
    return spellings[plain]
