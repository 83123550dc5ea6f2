"""Numbers beside one another: whether they are one, two, or one that was told in two ways."""

from __future__ import annotations

from dataclasses import replace

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.notes.fields.scope import Scope, fillers
from recorder.notes.fields.slot import Slot
from recorder.notes.fields.values import FAR_APART_K, plausible
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.vocabulary import words

# Between two numbers that may be one, or of which one may be wrong.
_BESIDE: tuple[list[str], ...] = ([], [","], ["and"], ["."], [".", "and"])
# What was understood already, as the name of a splice or a run; see ``understand``.
_UNDERSTOOD = "·"
# A unit of one of these dimensions is enough to know the field, though not to be sure of it.
ONLY_FIELD = {"pressure": "pressure", "voltage": "supply_voltage", "current": "supply_current"}
# The smaller unit may stay unsaid after these: "three minutes thirty".
_GO_ON = {"min", "hour", "foot"}
_MOST_COUNTED = 60.0
# Below this a platen does not weld; common practice, no source.
_HOT_DEGC = 100.0


def casts_doubt(tokens: Tokens, scope: Scope, slot: Slot, filled: Amount, stray: Amount) -> bool:
    """Whether a number that belongs to nothing makes the one before it doubtful.

    It stands right beside it ("107, 8 degrees"), or it is another value of the same kind in the
    same sentence ("set to 172, reads 169 Celsius"). Times are too many in talk for the latter.
    """
    between = [token.text for token in tokens[filled.end : stray.start]]
    counted = stray.unit is None and counts(tokens, stray)
    if not between and filled.unit in _GO_ON:
        return True
    if between in _BESIDE and not counted:
        return True
    if scope.sentence_of(slot.start) != scope.sentence_of(stray.start) or counted:
        return False
    dimension = UNITS[FIELDS[slot.field].unit or ""].dimension
    changed = scope.sentence_of(stray.start) in scope.changes
    if _UNDERSTOOD in between or (dimension == "time" and not changed):
        return False
    if stray.unit is not None:
        return dimension not in ONLY_FIELD
    return plausible(slot.field, stray.value)


def counts(tokens: Tokens, amount: Amount) -> bool:
    """As in "two fingers"; nobody counts further than a few dozen here, nor in parts of one."""
    after = tokens[amount.end] if amount.end < len(tokens) else None
    if amount.value > _MOST_COUNTED or amount.value % 1 != 0:
        return False
    if after is None or after.sort is not Sort.WORD:
        return False
    return after.text not in fillers() and after.text not in words("speech", "conjunctions")


def rest_of(tokens: Tokens, last: Slot, amount: Amount) -> Amount | None:
    """The number that a pause split in two: "160." (a pause) "Eight degrees"; "two minutes" and
    "thirty".
    """
    if amount.unit is None and counts(tokens, amount):
        return None
    if last.amount is not None and last.amount.unit == "min" and amount.unit is None:
        seconds = last.amount.value * 60 + amount.value
        whole = last.amount.value % 1 == 0 and 0 < amount.value < 60
        number = replace(amount.number, value=seconds, digits="", groups=())
        return replace(amount, value=seconds, unit="s", number=number) if whole else None
    if last.amount is None or last.amount.unit is not None:
        return None
    first = last.amount.value
    room = 100 if first % 100 == 0 else 10 if first % 10 == 0 else 0
    if first < 10 or not 0 < amount.value < room or amount.value != int(amount.value):
        return None
    value = first + amount.value
    digits = f"{value:.0f}"
    number = replace(amount.number, value=value, digits=digits, groups=(digits,))
    return replace(amount, value=value, number=number, parts=(first, amount.value))


def stands_alone(tokens: Tokens, last: Slot, amount: Amount) -> bool:
    """A bare number as a sentence of its own that may be meant instead: "Two point two, sorry"."""
    if not plausible(last.field, amount.value):
        return False
    return amount.end >= len(tokens) or tokens[amount.end].sort is Sort.SIGN


def may_be_twins(first: Slot, second: Slot) -> bool:
    """Whether two numbers told for both platens look like two, and not like one that was split."""
    a, b = float(first.value), float(second.value)
    return min(a, b) >= _HOT_DEGC and abs(a - b) <= FAR_APART_K
