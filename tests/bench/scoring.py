"""Readings against the truth of a narration: one outcome for each slot, and the inventions."""

from __future__ import annotations

import collections
import functools
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from num2words import num2words  # type: ignore[import-untyped]

from recorder.model.fields import FIELDS, Kind
from recorder.model.job import in_force
from recorder.model.reading import Reading, Role, Spoken, Standing
from tests.bench.narrations import Narration, Slot, Told

_AGREE = 1e-4  # relative; a value that went through another unit comes back a little off
_COMPUTED = {"elongation", "time_on_site"}  # the program may work them out from what was said


class Outcome(StrEnum):
    RIGHT_CLEAR = "right and clear"
    RIGHT_ASKED = "right but asked"
    WRONG_ASKED = "wrong and asked"
    WRONG_CLEAR = "WRONG AND CLEAR"
    MISSING = "missing"
    INVENTED_ASKED = "invented and asked"
    INVENTED_CLEAR = "INVENTED AND CLEAR"


RIGHT = (Outcome.RIGHT_CLEAR, Outcome.RIGHT_ASKED)
INVENTED = (Outcome.INVENTED_ASKED, Outcome.INVENTED_CLEAR)
SILENT = (Outcome.WRONG_CLEAR, Outcome.INVENTED_CLEAR)


@dataclass(frozen=True)
class Judged:
    """What became of one slot, or one reading that fits no slot (then truth is None).

    truth, value: in the canonical unit; value None when nothing was read. candidates, said, why:
    as in the reading.
    """

    narration: str
    key: str
    field: str
    outcome: Outcome
    truth: Told | None
    value: Told | None = None
    said: str = ""
    why: str = ""
    candidates: tuple[Told, ...] = ()

    def line(self) -> str:
        said = f", said {self.said!r}" if self.said else ""
        return (
            f"{self.outcome} {self.narration}: {self.key} {self.value!r}, true {self.truth!r}"
            + said
        )


def judge(narration: Narration, readings: tuple[Reading, ...]) -> list[Judged]:
    """Every slot in the order of the truth, then what was read and never said.

    A reading is invented when the place that it is in force at knows no such value. Earlier
    splices and runs are searched for inventions only when the narration tells of none.
    """
    judged = [_of_slot(narration.name, slot, readings) for slot in narration.truth]
    told = {slot.field for slot in narration.truth if slot.splice is None}
    spare = {("", reading) for name, reading in in_force(readings).items() if name not in told}
    if not any(slot.splice for slot in narration.truth):
        spare |= _elsewhere(readings, set(in_force(readings).values()))
    for place, reading in sorted(spare, key=lambda found: (found[0], found[1].field)):
        if reading.field not in _COMPUTED:
            outcome = INVENTED[reading.standing is not Standing.DOUBTFUL]
            judged.append(_judged(narration.name, place + reading.field, outcome, None, reading))
    return judged


def _of_slot(narration: str, slot: Slot, readings: tuple[Reading, ...]) -> Judged:
    reading = in_force(readings, slot.splice, slot.run).get(slot.field)
    if reading is None:
        return Judged(narration, slot.key, slot.field, Outcome.MISSING, slot.value)
    asked = reading.standing is Standing.DOUBTFUL
    right = agree(slot.field, reading.value, slot.value)
    outcome = {
        (True, False): Outcome.RIGHT_CLEAR,
        (True, True): Outcome.RIGHT_ASKED,
        (False, True): Outcome.WRONG_ASKED,
        (False, False): Outcome.WRONG_CLEAR,
    }[right, asked]
    return _judged(narration, slot.key, outcome, slot.value, reading)


def _judged(
    narration: str, key: str, outcome: Outcome, truth: Told | None, reading: Reading
) -> Judged:
    said = reading.evidence.said if isinstance(reading.evidence, Spoken) else ""
    return Judged(narration, key, reading.field, outcome, truth, reading.value, said,
                  reading.why, reading.candidates)  # fmt: skip


def _elsewhere(readings: tuple[Reading, ...], known: set[Reading]) -> set[tuple[str, Reading]]:
    places = {(r.splice, r.run) for r in readings if r.role is Role.USED}
    return {
        (f"splice {splice} run {run} / ", reading)
        for splice, run in places
        for reading in in_force(readings, splice, run).values()
        if reading not in known
    }


def agree(field: str, value: Told, truth: Told) -> bool:
    """Whether two values of a field are one: words without case, punctuation and blanks at the
    ends, small numbers in them as words or digits; clock times by hour and minute.
    """
    if isinstance(truth, bool) or isinstance(value, bool):
        return value is truth
    if isinstance(truth, float) and isinstance(value, float):
        return math.isclose(value, truth, rel_tol=_AGREE, abs_tol=1e-9)
    if FIELDS[field].kind is Kind.TIME:
        return _clock(str(value)) == _clock(str(truth))
    return _plain(str(value)) == _plain(str(truth))


def _clock(text: str) -> str:
    found = re.search(r"\d\d:\d\d", text)
    return found.group() if found else text


def _plain(text: str) -> str:
    words = re.sub(r"[^\w\s]|_", " ", text.casefold()).split()
    return " ".join(_digits().get(word, word) for word in words)


@functools.cache
def _digits() -> dict[str, str]:
    return {num2words(number): str(number) for number in range(21)}


@dataclass(frozen=True)
class Counts:
    """of: how many had each outcome. slots: how many values should be found."""

    of: collections.Counter[Outcome]
    slots: int

    @classmethod
    def over(cls, judged: Iterable[Judged]) -> Counts:
        of = collections.Counter(one.outcome for one in judged)
        return cls(of, sum(n for outcome, n in of.items() if outcome not in INVENTED))

    @property
    def readings(self) -> int:
        """How many values were read, right, wrong or invented."""
        return sum(n for outcome, n in self.of.items() if outcome is not Outcome.MISSING)

    @property
    def right(self) -> float:
        return self.share(*RIGHT)

    def share(self, *outcomes: Outcome) -> float:
        """Of all slots, 0..1."""
        return sum(self.of[outcome] for outcome in outcomes) / max(1, self.slots)

    def of_readings(self, *outcomes: Outcome) -> float:
        """Of all values that were read, 0..1."""
        return sum(self.of[outcome] for outcome in outcomes) / max(1, self.readings)
