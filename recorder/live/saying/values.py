"""Values of fields in words: in the unit in which they were said, with no more than is needed."""

from __future__ import annotations

import re
from datetime import datetime

from recorder.live.saying.numbers import digits, integer, number
from recorder.live.saying.words import of, sentence
from recorder.model import units
from recorder.model.fields import FIELDS, Kind
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading
from recorder.notes.short_answers import choices

_LONGEST_NAME = 6  # words; a longer text is not read back


def value(reading: Reading) -> str:
    """The value of a reading for the ear."""
    if reading.as_said is not None and reading.unit != "s":
        return quantity(reading.as_said)
    return value_of(reading.field, reading.value)


def value_of(field: str, held: bool | float | str) -> str:
    """A value in the canonical unit of its field."""
    row = FIELDS[field]
    if isinstance(held, bool):
        return of("answers", "yes" if held else "no")
    if isinstance(held, float):
        return quantity(Quantity(value=_short(held), unit=row.unit)) if row.unit else number(held)
    if row.kind is Kind.CHOICE:
        return of("choices", held)
    if row.kind is Kind.TIME:
        return time_of_day(datetime.fromisoformat(held))
    return spelled(held) if field in ("job_number", "belt_serial") else held


def _short(held: float) -> float:
    """With four figures, or all before the point: 272 °F is kept as 133.33 °C and more."""
    before_point = len(str(int(abs(held))))
    return round(held, max(0, 4 - before_point))


def quantity(said: Quantity) -> str:
    """Degrees Celsius without their name, as the trade says them; a time as a clock has it."""
    if units.UNITS[said.unit].dimension == "time":
        return duration(said.to("s").value)
    if said.unit == "degC":
        return number(said.value)
    return with_unit(said)


def with_unit(said: Quantity) -> str:
    """The number with the name of its unit in any case."""
    one = said.value == 1
    table = "unit" if one else "units"
    name = of(table, said.unit, units.UNITS[said.unit].symbol)
    spoken = of("answers", "one") if one else number(said.value)
    return f"{spoken} {name}"


def duration(seconds: float) -> str:
    """'four minutes', 'four minutes thirty', 'one hour ten minutes', 'forty-five seconds'."""
    whole = round(abs(seconds))
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    parts = []
    if hours:
        parts.append(_counted(hours, "hour"))
    if minutes:
        parts.append(_counted(minutes, "min"))
    if left and minutes and not hours:
        parts.append(integer(left))
    elif left or not parts:
        parts.append(_counted(left, "s"))
    said = " ".join(parts)
    return f"minus {said}" if seconds < 0 and whole else said


def _counted(many: int, unit: str) -> str:
    if many == 1:
        return f"{of('answers', 'one_f')} {of('unit', unit)}"
    return f"{integer(many)} {of('units', unit)}"


def time_of_day(at: datetime) -> str:
    """'eight ten', 'eight o'clock', 'eight oh five'."""
    hour = integer(at.hour)
    if at.minute == 0:
        return sentence("full_hour", hour=hour)
    minute = integer(at.minute)
    return sentence("time_early" if at.minute < 10 else "time", hour=hour, minute=minute)


def spelled(text: str) -> str:
    """A number or mark digit by digit; letters in capitals one by one."""
    parts = []
    for part in re.findall(r"[0-9]+|[A-Z]{1,4}(?![a-z])|[^\W\d_]+", text):
        if part.isdecimal():
            parts.append(digits(part))
        else:
            parts.append(" ".join(part) if part.isupper() else part)
    return " ".join(parts)


def is_long(reading: Reading) -> bool:
    """Whether a text is too long to be read back."""
    return isinstance(reading.value, str) and len(reading.value.split()) > _LONGEST_NAME


def two_values(reading: Reading) -> tuple[str, str] | None:
    """The value and its likeliest alternative, so that an ear can tell them apart; None when there
    is no alternative.
    """
    others = [each for each in choices(reading) if each != reading.value]
    if not others:
        return None
    first, second = value(reading), value_of(reading.field, others[0])
    if first == second or reading.as_said is not None:
        first, second = _with_units(reading, others[0])
    return (first, second) if first != second else None


def _with_units(reading: Reading, other: bool | float | str) -> tuple[str, str]:
    """Both with their units, the second in the first one's where it is a round number in that."""
    held, unit = reading.value, reading.unit
    if unit is None or unit == "s" or type(held) is not float or type(other) is not float:
        return value(reading), value_of(reading.field, other)
    said = reading.as_said or Quantity(value=held, unit=unit)
    canonical = Quantity(value=other, unit=unit)
    converted = canonical.to(said.unit)
    tenth = round(converted.value, 1)
    alike = abs(converted.value - tenth) < 1e-6 * max(1.0, abs(tenth))
    return with_unit(said), with_unit(Quantity(value=tenth, unit=said.unit) if alike else canonical)
