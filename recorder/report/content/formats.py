"""Values of the model as the page writes them: in the words and with the marks of its language.

What is rounded how, and the texts, stand with the values in ``recorder/model``.
"""

from __future__ import annotations

from datetime import datetime, time

from recorder.model import units
from recorder.model.fields import FIELDS, Kind
from recorder.model.measurement import Limit, Measurement, Place
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, show_value
from recorder.model.words import Words
from recorder.report.wording.wording import digits, moment, say, time_of_day

PAGE = Words(say=say, digits=digits)


def label(field: str) -> str:
    """'Dwell'."""
    return say(FIELDS[field].label)


def value(field: str, it: bool | float | str) -> str:
    """A value of a field in its canonical unit: '172 °C', 'no', 'V-guided', '8:15 AM'."""
    if FIELDS[field].kind is Kind.TIME:
        return _time(str(it))
    return show_value(field, it, PAGE)


def reading(it: Reading) -> str:
    """Its value, and in brackets the quantity as it was given, when that had another unit."""
    text = value(it.field, it.value)
    return f"{text} ({quantity(it.as_said)})" if it.as_said else text


def quantity(it: Quantity) -> str:
    return it.shown(PAGE)


def setting(number: float, unit: str) -> str:
    return units.show(number, unit, words=PAGE)


def measurement(it: Measurement, unit: bool = True) -> str:
    """'0.35 ± 0.06 mm'. unit: whether its symbol follows."""
    return it.shown(PAGE, unit)


def limit(it: Limit) -> str:
    """'at most 0.5 mm'."""
    return it.shown(PAGE)


def place(it: Place) -> str:
    """'12.3 mm left of and 4.1 mm above the middle of the splice'."""
    return it.shown(PAGE)


def percent(share: float, decimals: int = 0) -> str:
    """'98.8 %'."""
    return units.with_symbol(digits(f"{share:.{decimals}%}".removesuffix("%")), "percent")


def part(share: float) -> str:
    """In whole percents; what is neither all nor nothing does not read as such: 'over 99 %'."""
    if 0.995 <= share < 1:
        return say("over {share}", share=percent(0.99))
    if 0 < share < 0.005:
        return say("under {share}", share=percent(0.01))
    return percent(share)


def spell_out(seconds: float) -> str:
    """A duration of a minute or more in the two units that people use: 10200 -> '2 h 50 min'."""
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    parts = [(hours, "h"), (minutes, "min"), (0 if hours else rest, "s")]
    return " ".join(f"{n} {unit}" for n, unit in parts if n) if seconds >= 60 else ""


def length(seconds: float) -> str:
    """As a stopwatch shows it: '3:00 min', '1:02:05 h'; below a minute '45 s'."""
    whole = round(seconds)
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    if hours:
        return f"{hours}:{minutes:02d}:{rest:02d} h"
    return f"{minutes}:{rest:02d} min" if minutes else f"{rest} s"


def _time(text: str) -> str:
    """A time of day, or one with its date; as it was recorded where it is neither."""
    try:
        return time_of_day(time.fromisoformat(text))
    except ValueError:
        pass
    try:
        return moment(datetime.fromisoformat(text))
    except ValueError:
        return text
