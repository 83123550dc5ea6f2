"""A value as a person types it: on a job card, at a prompt, in a search."""

from __future__ import annotations

import difflib
import re
from datetime import UTC, datetime

from recorder.errors import BadValue, UnknownField, UnknownUnit
from recorder.model.fields import FIELDS, Field, Kind, Level, near_or_all
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Role, Standing, Typed
from recorder.model.units import UNITS, show, units_of
from recorder.notes.numbers.amounts import Amount, amounts_of
from recorder.notes.words.lexer import tokens_of
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import vocabulary

_YES = {"yes", "y", "true", "ja", "on", "confirmed"}
_NO = {"no", "n", "false", "off", "none"}
_EXAMPLES = {"temperature": "172 degC", "pressure": "2.2 bar", "length": "70 mm", "time": "3 min"}
_EXAMPLES |= {"voltage": "110 V", "current": "15 A", "ratio": "1.5 %"}
_MAY_BE_NEGATIVE = {"elongation"}
# Lowest and highest value, in the canonical unit, that a job can have at all; beyond them it is a
# slip of the hand. Absolute zero by definition, the others common practice, no source.
_POSSIBLE = {
    "degC": (-273.15, 1000.0),
    "bar": (0.0, 1000.0),
    "mm": (0.0, 1e8),
    "s": (0.0, 366 * 86400.0),
    "V": (0.0, 100_000.0),
    "A": (0.0, 10_000.0),
    "percent": (0.0, 1000.0),
}
_MOST = 1_000_000
_LONGEST_TEXT = 2000


def known_field(name: str) -> Field:
    """The row of the catalogue. Raises UnknownField with near names."""
    field = FIELDS.get(name.strip().lower().replace("-", "_").replace(" ", "_"))
    if field is None:
        near = difflib.get_close_matches(name.lower().replace(" ", "_"), FIELDS, n=3, cutoff=0.5)
        raise UnknownField(wanted=name, near=near_or_all(near))
    return field


def typed_reading(
    field: str,
    text: str | bool | float | int,
    evidence: Typed,
    role: Role = Role.USED,
    splice: int = 1,
    run: int = 1,
) -> Reading:
    """A confirmed reading in the field's canonical unit.

    Raises UnknownField, UnknownUnit, or BadValue. A bare number is refused for a quantity: its
    unit is never guessed.
    """
    row = known_field(field)
    value: bool | float | str
    as_said: Quantity | None = None
    if row.kind is Kind.QUANTITY:
        quantity = typed_quantity(row, text)
        value = quantity.to(row.unit or "").value
        as_said = quantity if quantity.unit != row.unit else None
        _check_physical(row, value, text)
    elif row.kind is Kind.COUNT:
        value = _count(row, text)
    elif row.kind is Kind.FLAG:
        value = _flag(row, text)
    elif row.kind is Kind.CHOICE:
        value = _choice(row, text)
    elif row.kind is Kind.TIME:
        value = _time(row, text)
    else:
        value = _text(row, text)
    return Reading(
        field=row.name,
        value=value,
        unit=row.unit,
        as_said=as_said,
        standing=Standing.CONFIRMED,
        role=role,
        evidence=evidence,
        splice=1 if row.level is Level.JOB else splice,
        run=run if row.level is Level.RUN else 1,
    )


def typed_quantity(row: Field, text: str | bool | float | int) -> Quantity:
    """The one quantity that the text is. Raises UnknownUnit or BadValue."""
    dimension = UNITS[row.unit or ""].dimension
    example = _EXAMPLES.get(dimension, f"1 {row.unit}")
    if not isinstance(text, str):
        hint = f"give a number with its unit, for example '{example}'"
        raise BadValue(value=text, field=row.name, hint=hint)
    tokens = tokens_of(text)
    amounts = amounts_of(tokens)
    if len(amounts) != 1 or amounts[0].start != 0:
        hint = f"give one number with its unit, for example '{example}'"
        raise BadValue(value=_short(text), field=row.name, hint=hint)
    amount = amounts[0]
    near = ", ".join(name for name in units_of(dimension) if name in vocabulary()["units"])
    if amount.end < len(tokens):
        rest = text[tokens[amount.number.end].start :].strip()
        raise UnknownUnit(wanted=_short(rest), field=row.name, near=near)
    if amount.unit is None:
        hint = f"say the unit too, for example '{example}'"
        raise BadValue(value=_short(text), field=row.name, hint=hint)
    if UNITS[amount.unit].dimension != dimension:
        raise UnknownUnit(wanted=_unit_text(text, amount), field=row.name, near=near)
    return Quantity(value=amount.value, unit=amount.unit)


def _unit_text(text: str, amount: Amount) -> str:
    tokens = tokens_of(text)
    return _short(text[tokens[min(amount.number.end, len(tokens) - 1)].start :].strip())


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 40 else text[:39] + "…"


def _check_physical(row: Field, value: float, text: object) -> None:
    unit = row.unit or ""
    low, high = _POSSIBLE[unit]
    if row.name in _MAY_BE_NEGATIVE:
        low = -high
    if low <= value <= high:
        return
    below = "that is below absolute zero" if unit == "degC" else "it cannot be negative"
    above = f"more than {show(high, unit)} is not possible; look at the point and the unit"
    raise BadValue(value=_short(str(text)), field=row.name, hint=below if value < low else above)


def _count(row: Field, text: str | bool | float | int) -> float:
    if isinstance(text, str) and re.fullmatch(r"\s*[0-9]{1,6}\s*", text):
        return float(text)
    if not isinstance(text, (str, bool)) and 0 <= text < _MOST and text == int(text):
        return float(text)
    raise BadValue(value=_short(str(text)), field=row.name, hint="give a whole number")


def _flag(row: Field, text: str | bool | float | int) -> bool:
    if isinstance(text, bool):
        return text
    word = text.strip().lower() if isinstance(text, str) else ""
    if word in _YES | _NO:
        return word in _YES
    raise BadValue(value=_short(str(text)), field=row.name, hint="answer yes or no")


def _choice(row: Field, text: str | bool | float | int) -> str:
    word = str(text).strip().lower()
    plain = word.replace(" ", "_").replace("-", "_")
    if plain in row.choices:
        return plain
    choice = _spoken_choices(row.name).get(word)
    if choice is None:
        hint = f"use one of {', '.join(row.choices)}"
        raise BadValue(value=_short(str(text)), field=row.name, hint=hint)
    return choice


@kept
def _spoken_choices(field: str) -> dict[str, str]:
    table = vocabulary()["choices"].get(field, {})
    return {phrase: choice for choice, phrases in table.items() for phrase in phrases}


def _time(row: Field, text: str | bool | float | int) -> str:
    hint = "give date, time and zone, for example '2026-11-25T08:10+01:00'"
    if not isinstance(text, str) or len(text.strip()) < len("2026-11-25T08:10"):
        raise BadValue(value=_short(str(text)), field=row.name, hint=hint)
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise BadValue(value=_short(text), field=row.name, hint=hint) from error
    if moment.tzinfo is None:
        raise BadValue(value=_short(text), field=row.name, hint=hint)
    try:
        moment.astimezone(UTC)
    except OverflowError as error:
        raise BadValue(value=_short(text), field=row.name, hint=hint) from error
    return moment.isoformat()


def _text(row: Field, text: str | bool | float | int) -> str:
    if isinstance(text, (bool, float)):
        raise BadValue(value=text, field=row.name, hint="give it as text")
    plain = " ".join(str(text).split())
    if not plain or not plain.isprintable() or len(plain) > _LONGEST_TEXT:
        raise BadValue(value=_short(plain), field=row.name, hint="give some plain text")
    return plain
