"""What speaks for and against one heard value, before it is weighed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from recorder.model.fields import FIELDS, Kind
from recorder.model.quantity import Quantity
from recorder.model.transcript import Word
from recorder.model.units import UNITS, convert
from recorder.notes.amounts import Amount
from recorder.notes.hearings import Version
from recorder.notes.mentions import fits
from recorder.notes.sameness import Value, said_as, same
from recorder.notes.slot import Slot
from recorder.notes.understand import Understood
from recorder.notes.values import agree, plausible

_LOWEST = 0.01  # of a probability, so that its logarithm stays finite


@dataclass(frozen=True)
class Signals:
    """probability: by the recogniser, of the least sure word that carries the value. others: how
    many further hearings there are. agreeing: of those, that have the same. instead: the values
    that others have in its place, by how many of them. stray: of those, that have another number
    which may belong here. clarity: 0..1, how far all hearings of the utterance have the same
    words. sibling: the value that only its stress tells apart (70 for 17), where plausible.
    rounded: a number on a full ten, as is left when the last digit was not heard.
    """

    kind: str
    probability: float
    others: int
    agreeing: int
    instead: tuple[tuple[Value, int], ...]
    stray: int
    clarity: float
    sibling: float | None
    rounded: bool

    def measures(self) -> dict[str, float]:
        """The signals as numbers of about 0..1 with the names that a calibration weighs; 0 is
        good, except in those of the kind of field.
        """
        opposing = sum(count for _, count in self.instead)
        share = 1 / max(1, self.others)
        return {
            f"is a {self.kind}": 1.0,
            "improbable": -math.log(max(self.probability, _LOWEST)),
            "not in other hearings": 1 - self.agreeing * share,
            "other value in other hearings": opposing * share,
            "other number in other hearings": self.stray * share,
            "hearings differ in words": 1 - self.clarity,
            "sounds like another number": float(self.sibling is not None),
            "may lack its last digit": float(self.rounded),
        }


def signals_of(
    slot: Slot, words: Sequence[Word], chosen: Version, rest: Sequence[Version]
) -> Signals:
    """Of one slot of the chosen version. ``words``: those that carry it. ``rest``: all others."""
    opinions = [_opinion(slot, chosen.understood, version) for version in rest]
    instead: list[tuple[Value, int]] = []
    for value in dict.fromkeys(v for opinion in opinions if (v := opinion.instead) is not None):
        instead.append((value, sum(opinion.instead == value for opinion in opinions)))
    heard = [word.probability for word in words if word.probability is not None]
    return Signals(
        kind=_kind(slot),
        probability=min(heard, default=1.0),
        others=len(rest),
        agreeing=sum(opinion.agrees for opinion in opinions),
        instead=tuple(sorted(instead, key=lambda found: -found[1])),
        stray=sum(opinion.stray for opinion in opinions),
        clarity=chosen.clarity,
        sibling=_sounds_like(slot),
        rounded=_rounded(slot),
    )


def _kind(slot: Slot) -> str:
    kind = FIELDS[slot.field].kind
    if slot.field == "job_number" or slot.amount is not None:
        return "number"
    return "name" if kind is Kind.TEXT else "finding"


@dataclass(frozen=True)
class _Opinion:
    agrees: bool
    instead: Value | None = None
    stray: bool = False


def _opinion(slot: Slot, chosen: Understood, version: Version) -> _Opinion:
    """What another hearing says of a value, in the reading of it that agrees best."""
    instead: Value | None = None
    stray = False
    for reading in version.readings:
        rivals = [other for other in reading.slots if other.field == slot.field]
        if any(same(rival, slot) or _same_number(rival, slot) for rival in rivals):
            return _Opinion(True)
        if rivals and instead is None:
            instead = rivals[0].value
        if not rivals and slot.amount is not None:
            if _number_in(slot, slot.amount, reading):
                return _Opinion(True)
            stray = stray or _other_number(slot, chosen, reading)
    return _Opinion(False, instead, stray and instead is None)


def _same_number(a: Slot, b: Slot) -> bool:
    """The same number, of which one hearing lost or misheard the unit."""
    if a.amount is None or b.amount is None or a.amount.value != b.amount.value:
        return False
    return {None, "deg"} & {a.amount.unit, b.amount.unit} != set()


def _number_in(slot: Slot, wanted: Amount, reading: Understood) -> bool:
    """The other hearing lost the trade word, but has the number and no other unit."""
    said = said_as(slot)
    for amount in reading.amounts:
        if amount.value == wanted.value and amount.unit in (None, "deg", wanted.unit):
            return True
        if not amount.unit or not said or amount.unit not in UNITS:
            continue
        alike = UNITS[amount.unit].dimension == UNITS[said.unit].dimension
        if alike and agree(Quantity(value=amount.value, unit=amount.unit), said):
            return True
    return False


def _other_number(slot: Slot, chosen: Understood, reading: Understood) -> bool:
    """A number that fits the field and is nowhere in the chosen hearing."""
    if FIELDS[slot.field].unit is None:
        return False
    known = {amount.value for amount in chosen.amounts}
    return any(a.value not in known and fits(slot.field, a) for a in reading.amounts)


def _sounds_like(slot: Slot) -> float | None:
    """Seventeen and seventy are told apart by their stress alone: the other one, if plausible."""
    if slot.amount is None or type(slot.value) is not float:
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


def _rounded(slot: Slot) -> bool:
    if slot.amount is None or type(slot.value) is not float:
        return False
    value = slot.amount.value
    return value >= 100 and value % 10 == 0
