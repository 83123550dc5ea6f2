"""Whether a heard value can be stood by. Every rule gives its reason in plain words.

The rules are common practice, no source, until they are calibrated on recordings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

from recorder.model.fields import FIELDS, Kind
from recorder.model.quantity import Quantity
from recorder.model.reading import show_value
from recorder.model.transcript import Word
from recorder.model.units import UNITS, convert
from recorder.notes.amounts import Amount
from recorder.notes.slot import Slot
from recorder.notes.understand import Understood
from recorder.notes.values import Habit, agree, plausible

LOW = 0.4  # a number word with less probability is not relied upon
_LOW_NAME = 0.5
_LOW_FINDING = 0.2  # of its worst word, when there is no second hearing to ask

Value = bool | float | str
Doubts = tuple[tuple[str, ...], tuple[Value, ...]]  # reasons, and what it may be instead


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


def on_card(slot: Slot, habit: Habit) -> bool:
    """Whether a person typed the same value for this job."""
    if isinstance(slot.value, str):
        name = habit.names.get(slot.field)
        return name is not None and name.casefold() == slot.value.casefold()
    said = said_as(slot)
    wanted = habit.expected.get(slot.field, ())
    return said is not None and any(agree(said, quantity) for quantity in wanted)


def doubts_of(slot: Slot, words: Sequence[Word], hearings: Sequence[Understood]) -> Doubts:
    """Doubts about the hearing of one slot.

    ``words``: those that carry it. ``hearings``: the second hearing, read in each way in which it
    can be; empty when there was none. A written text has neither and is not doubted here.
    """
    reasons: list[str] = []
    others: list[Value] = []
    if hearings:
        agreed, instead = _second_opinion(slot, hearings)
        others += instead
        if not agreed:
            shown = f" ({show_value(slot.field, instead[0])})" if instead else ""
            reasons.append(f"the second hearing gave something else{shown}")
    heard = [word.probability for word in words if word.probability is not None]
    if heard:
        reasons += _by_probability(slot, min(heard), bool(hearings))
        sibling = _sounds_like(slot)
        if sibling is not None:
            others.append(sibling)
            reasons.append(f"sounds like {show_value(slot.field, sibling)}")
    return tuple(reasons), tuple(others)


def _by_probability(slot: Slot, lowest: float, second: bool) -> list[str]:
    kind = FIELDS[slot.field].kind
    if kind is Kind.TEXT and slot.field != "job_number":
        return [] if second and lowest >= _LOW_NAME else ["a name was heard"]
    floor = LOW if kind in (Kind.QUANTITY, Kind.TEXT) else 0.0 if second else _LOW_FINDING
    return [f"heard with low probability ({lowest:.2f})"] if lowest < floor else []


def _second_opinion(slot: Slot, hearings: Sequence[Understood]) -> tuple[bool, list[Value]]:
    """Whether the second hearing has the same, and the values that it has instead."""
    instead: list[Value] = []
    for hearing in hearings:
        rivals = [other for other in hearing.slots if other.field == slot.field]
        for rival in rivals:
            if same(rival, slot) or _same_number(rival, slot):
                return True, []
            instead.append(rival.value)
        if not rivals and slot.amount is not None and _number_in(slot, slot.amount, hearing):
            return True, []
    return False, list(dict.fromkeys(instead))


def _same_number(a: Slot, b: Slot) -> bool:
    """The same number, of which one hearing lost or misheard the unit."""
    if a.amount is None or b.amount is None or a.amount.value != b.amount.value:
        return False
    return {None, "deg"} & {a.amount.unit, b.amount.unit} != set()


def _number_in(slot: Slot, wanted: Amount, hearing: Understood) -> bool:
    """The second hearing lost the trade word, but has the number and no other unit."""
    said = said_as(slot)
    for amount in hearing.amounts:
        if amount.value == wanted.value and amount.unit in (None, "deg", wanted.unit):
            return True
        if not amount.unit or not said:
            continue
        alike = UNITS[amount.unit].dimension == UNITS[said.unit].dimension
        if alike and agree(Quantity(value=amount.value, unit=amount.unit), said):
            return True
    return False


def _sounds_like(slot: Slot) -> float | None:
    """Seventeen and seventy are told apart by their stress alone: the other one, if plausible."""
    if slot.amount is None or type(slot.value) is not float or not slot.amount.number.digits:
        return None
    number = slot.amount.number.value
    last = int(number) % 100
    if 13 <= last <= 19:
        sibling = number - last + (last - 10) * 10
    elif last % 10 == 0 and 30 <= last <= 90:
        sibling = number - last + 10 + last // 10
    else:
        return None
    field = FIELDS[slot.field]
    if slot.as_said is not None:
        value = convert(sibling, slot.as_said.unit, field.unit or "")
    else:
        value = sibling
    return value if plausible(slot.field, value) else None
