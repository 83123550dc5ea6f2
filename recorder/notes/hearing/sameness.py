"""When two values of a field are one for a person."""

from __future__ import annotations

import math
from typing import Protocol

from recorder.model.fields import FIELDS
from recorder.model.quantity import Quantity
from recorder.notes.fields.values import Habit, agree

Value = bool | float | str


class Valued(Protocol):
    """A reading or a slot: a canonical value of a field, and how it was said."""

    @property
    def field(self) -> str: ...
    @property
    def value(self) -> Value: ...
    @property
    def as_said(self) -> Quantity | None: ...


def said_as(valued: Valued) -> Quantity | None:
    """The quantity in the unit in which it was given; None for what is no quantity."""
    unit = FIELDS[valued.field].unit
    if valued.as_said is not None or unit is None or type(valued.value) is not float:
        return valued.as_said
    return Quantity(value=valued.value, unit=unit)


def same(a: Valued, b: Valued) -> bool:
    """Whether two values of one field are the same for a person."""
    first, second = said_as(a), said_as(b)
    if first is not None and second is not None:
        return agree(first, second)
    return equal(a.value, b.value)


def equal(a: Value, b: Value) -> bool:
    """Whether two canonical values are one."""
    if type(a) is float and type(b) is float:
        return math.isclose(a, b, rel_tol=1e-9)
    if isinstance(a, str) and isinstance(b, str):
        return a.casefold() == b.casefold()
    return a is b


def on_card(valued: Valued, habit: Habit) -> bool:
    """Whether a person typed the same value for this job."""
    if isinstance(valued.value, str):
        name = habit.names.get(valued.field)
        return name is not None and name.casefold() == valued.value.casefold()
    said = said_as(valued)
    wanted = habit.expected.get(valued.field, ())
    return said is not None and any(agree(said, quantity) for quantity in wanted)
