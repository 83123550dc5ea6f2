"""What one hearing says of a value that another hearing of the same words gave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from recorder.model.fields import FIELDS
from recorder.model.quantity import Quantity
from recorder.model.units import UNITS
from recorder.notes.fields.mentions import fits
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import agree, plausible
from recorder.notes.hearing.sameness import said_as, same
from recorder.notes.hearing.understand import Understood
from recorder.notes.numbers.amount import Amount


@dataclass(frozen=True)
class Opinion:
    """agrees: it has the same value, or the same number whose trade word it lost. instead: what it
    has in the same field. stray: it has another number, in no field, which may belong there.
    """

    agrees: bool
    instead: Slot | None = None
    stray: bool = False

    @property
    def contradicts(self) -> bool:
        """Whether it has another value that can be: a slip of the hearing speaks for nothing."""
        return self.instead is not None and is_plausible(self.instead)


def opinion(slot: Slot, chosen: Understood, readings: Sequence[Understood]) -> Opinion:
    """Of the hearing that can be understood as ``readings``, in the one that agrees best.
    ``chosen``: the hearing that has the slot.
    """
    instead: Slot | None = None
    stray = False
    for reading in readings:
        rivals = [other for other in reading.slots if other.field == slot.field]
        if any(same(rival, slot) or _same_number(rival, slot) for rival in rivals):
            return Opinion(True)
        if rivals and (instead is None or not is_plausible(instead)):
            instead = rivals[0]
        if not rivals and slot.amount is not None:
            if _has_number(slot, slot.amount, reading):
                return Opinion(True)
            stray = stray or _has_other_number(slot, chosen, reading)
    return Opinion(False, instead, stray and instead is None)


def is_plausible(slot: Slot) -> bool:
    return type(slot.value) is not float or plausible(slot.field, slot.value)


def _same_number(a: Slot, b: Slot) -> bool:
    """The same number, of which one hearing lost or misheard the unit."""
    if a.amount is None or b.amount is None or a.amount.value != b.amount.value:
        return False
    return {None, "deg"} & {a.amount.unit, b.amount.unit} != set()


def _has_number(slot: Slot, wanted: Amount, reading: Understood) -> bool:
    """It lost the trade word, but has the number and no other unit."""
    said = said_as(slot)
    for amount in reading.amounts:
        if amount.start in reading.used:
            continue  # it has that number, but says something else of it
        if amount.value == wanted.value and amount.unit in (None, "deg", wanted.unit):
            return True
        if not amount.unit or not said or amount.unit not in UNITS:
            continue
        alike = UNITS[amount.unit].dimension == UNITS[said.unit].dimension
        if alike and agree(Quantity(value=amount.value, unit=amount.unit), said):
            return True
    return False


def _has_other_number(slot: Slot, chosen: Understood, reading: Understood) -> bool:
    """A number that fits the field and is nowhere in the chosen hearing."""
    if FIELDS[slot.field].unit is None:
        return False
    known = {amount.value for amount in chosen.amounts}
    return any(a.value not in known and fits(slot.field, a) for a in reading.amounts)
