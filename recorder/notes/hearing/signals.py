"""What speaks for and against one heard value, before it is weighed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from recorder.model.fields import FIELDS, Kind
from recorder.model.transcript import Word
from recorder.model.units import convert
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import plausible
from recorder.notes.hearing.hearings import Version
from recorder.notes.hearing.opinions import opinion
from recorder.notes.hearing.sameness import Value

_LOWEST = 0.01  # of a probability, so that its logarithm stays finite


@dataclass(frozen=True)
class Signals:
    """probability: by the recogniser, of the least sure word that carries the value. certainty: of
    all words of the utterance, the geometric mean. others: how many further hearings there are.
    agreeing: of those, that have the same. instead: the values that others have in its place, by
    how many of them. stray: of those, that have another number which may belong here. clarity:
    0..1, how far all hearings of the utterance have the same words. clarity_around: mean clarity of
    this utterance and those shortly before. sibling: the value that only its stress tells apart (70
    for 17), where plausible.
    """

    kind: str
    probability: float
    certainty: float
    others: int
    agreeing: int
    instead: tuple[tuple[Value, int], ...]
    stray: int
    clarity: float
    clarity_around: float
    sibling: float | None

    def measures(self) -> dict[str, float]:
        """The signals as numbers of about 0..1 with the names that a calibration weighs; 0 is
        good, except in the first, which all values have.
        """
        opposing = sum(count for _, count in self.instead)
        share = 1 / max(1, self.others)
        return {
            "heard": 1.0,
            "is a name": float(self.kind == "name"),
            "improbable": -math.log(max(self.probability, _LOWEST)),
            "utterance improbable": -math.log(max(self.certainty, _LOWEST)),
            "not in all hearings": float(self.agreeing < self.others),
            "not in other hearings": 1 - self.agreeing * share,
            "other value in other hearings": opposing * share,
            "other number in other hearings": self.stray * share,
            "hearings differ in words": 1 - self.clarity,
            "hearings differ around": 1 - self.clarity_around,
            "sounds like another number": 0.0 if self.sibling is None else 1.0,
            "unsure and sounds like another": 0.0 if self.sibling is None else 1 - self.probability,
        }


def signals_of(
    slot: Slot,
    words: Sequence[Word],
    chosen: Version,
    rest: Sequence[Version],
    clarity_around: float,
) -> Signals:
    """Of one slot of the chosen version. ``words``: those that carry it. ``rest``: all others."""
    opinions = [opinion(slot, chosen.understood, version.readings[:1]) for version in rest]
    values = [one.instead.value if one.instead else None for one in opinions]
    instead: list[tuple[Value, int]] = []
    for value in dict.fromkeys(value for value in values if value is not None):
        instead.append((value, sum(other == value for other in values)))
    heard = [word.probability for word in words if word.probability is not None]
    return Signals(
        kind=_kind(slot),
        probability=min(heard, default=1.0),
        certainty=_certainty(chosen.words),
        others=len(rest),
        agreeing=sum(one.agrees for one in opinions),
        instead=tuple(sorted(instead, key=lambda found: -found[1])),
        stray=sum(one.stray for one in opinions),
        clarity=chosen.clarity,
        clarity_around=clarity_around,
        sibling=_sounds_like(slot),
    )


def _certainty(words: Sequence[Word]) -> float:
    heard = [max(w.probability, _LOWEST) for w in words if w.probability is not None]
    return math.exp(sum(map(math.log, heard)) / len(heard)) if heard else 1.0


def _kind(slot: Slot) -> str:
    kind = FIELDS[slot.field].kind
    if slot.field == "job_number" or slot.amount is not None:
        return "number"
    return "name" if kind is Kind.TEXT else "finding"


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
