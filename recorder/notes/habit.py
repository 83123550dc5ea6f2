"""What the readings before a narration tell about the way this job is spoken of."""

from __future__ import annotations

from datetime import datetime

from recorder.model.fields import FIELDS, Kind
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Standing, Typed
from recorder.model.units import UNITS
from recorder.notes.fields.values import Habit
from recorder.notes.hearing.sameness import said_as


def habit_of(known: tuple[Reading, ...]) -> Habit:
    """The units and values that are known before a narration."""
    return habit_after(Habit({}, {}, {}, ()), known)


def habit_after(before: Habit, known: tuple[Reading, ...]) -> Habit:
    """The habit with what further readings tell.

    No unit of time: a job that speaks of minutes of cycle speaks of seconds of dwell.
    """
    units, names = dict(before.units), dict(before.names)
    expected: dict[str, tuple[Quantity, ...]] = dict(before.expected)
    day = before.day
    for reading in known:
        if reading.standing is Standing.WITHDRAWN:
            continue
        typed = isinstance(reading.evidence, Typed)
        unit = reading.as_said.unit if reading.as_said else reading.unit
        if unit and (typed or reading.standing is not Standing.DOUBTFUL):
            dimension = UNITS[unit].dimension
            if dimension != "time":
                units[dimension] = unit
        said = said_as(reading)
        if typed and said is not None:
            expected[reading.field] = (*expected.get(reading.field, ()), said)
        if typed and isinstance(reading.value, str) and FIELDS[reading.field].kind is Kind.TEXT:
            names[reading.field] = reading.value
        if typed and isinstance(reading.value, str) and FIELDS[reading.field].kind is Kind.TIME:
            moment = datetime.fromisoformat(reading.value)
            day = moment.date().isoformat(), moment.isoformat()[-len("+00:00") :]
    return Habit(units, expected, names, day)
