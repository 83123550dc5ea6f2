"""Words that take back what was told and give no other value: "wait, no", "that was wrong"."""

from __future__ import annotations

from recorder.model.fields import FIELDS
from recorder.model.reading import Reading
from recorder.notes.fields.mentions import mentions_of
from recorder.notes.fields.scope import fillers
from recorder.notes.fields.values import TWINS
from recorder.notes.hearing.sameness import equal
from recorder.notes.hearing.understand import Understood
from recorder.notes.words.lexer import Sort
from recorder.notes.words.vocabulary import speech, words

_SHORT = 2  # words; "Actually finger."
_FARTHEST = 4  # readings back to the other platen's


def undoes(heard: Understood) -> bool:
    """Whether something was taken back by name, and no value follows instead."""
    if speech("swaps").all(heard.tokens):
        return not heard.slots
    undos = [hit for hit in heard.scope.undos if not _of_this_sentence(heard, hit.start)]
    if not undos:
        return False
    last = undos[-1].start
    return not any(slot.start > last and slot.corrects for slot in heard.slots)


def _of_this_sentence(heard: Understood, place: int) -> bool:
    """As in "my phone is ringing, ignore that": the words before it are what is meant."""
    number = heard.scope.clause_of[place]
    clauses = heard.scope.clauses
    if number == 0 or clauses[number - 1].sentence != clauses[number].sentence:
        return False
    before = clauses[number - 1]
    said = [i for i in range(before.start, before.end) if heard.tokens[i].sort is not Sort.SIGN]
    meaning = [i for i in said if heard.tokens[i].text not in fillers()]
    cues = {i for hit in heard.scope.corrections for i in range(hit.start, hit.end)}
    idle = not any(slot.start < before.end and slot.end > before.start for slot in heard.slots)
    return idle and len(set(meaning) - cues) >= _SHORT


def denies_before(heard: Understood) -> bool:
    """Whether the words open with a denial of those before: "No, it's dirt.", "Should be 172."."""
    if heard.slots or heard.moves:
        return False
    openers = words("speech", "before_denials")
    rest = [t for t in heard.tokens if t.text not in openers]
    if not rest:
        return False
    if heard.scope.corrections and heard.scope.corrections[0].start == 0 and heard.amounts:
        return True
    if heard.amounts and speech("prescribed").at(tuple(rest), 0):
        return True
    again = speech("reopenings").at(heard.tokens, 0)
    if again and 0 < sum(t.text.isalnum() for t in heard.tokens[again.end :]) <= _SHORT:
        return True
    after = rest[1] if len(rest) > 1 else None
    goes_on = after is None or after.sort is Sort.SIGN or after.text in words("speech", "after_no")
    return rest[0].text in {"no", "nope"} and goes_on


def denies_itself(heard: Understood) -> bool:
    """Whether the words close with a denial of their own value: "2.2 bar, wait, no."."""
    if not heard.told.correcting or not heard.slots:
        return False
    last = heard.scope.corrections[-1]
    understood = {place for slot in heard.slots for place in slot.places}
    return last.meanings[0].split()[-1] == "no" and last.start not in understood


def taken_by(heard: Understood, readings: list[Reading]) -> tuple[Reading, ...]:
    """The readings that the words take back: of the fields that they name, of both platens when
    the two were mixed up, and otherwise all that the last number gave.
    """
    if speech("swaps").all(heard.tokens):
        found = {r.field: r for r in readings[-_FARTHEST:] if r.field in TWINS}
        return tuple(found.values())
    named = {
        fields[0]
        for mention in mentions_of(heard.tokens)
        for fields in mention.options
        if not heard.slots and len(fields) == 1
    }
    newest = {r.field: r for r in readings if r.field in named}
    if newest:
        return tuple(newest.values())
    return tuple(r for r in readings[-2:] if r.evidence == readings[-1].evidence)


def misplaced(heard: Understood, readings: list[Reading], first_of: str) -> tuple[Reading, ...]:
    """The reading before the last one, when a correction moved its number to another field.

    first_of: the field that had no value before. "Top 175, I meant bottom 175."
    """
    if len(readings) < 2:
        return ()
    before, last = readings[-2:]
    unit = FIELDS[first_of].unit
    alike = unit is not None and FIELDS[before.field].unit == unit
    meant = heard.scope.undos or speech("meant").all(heard.tokens)
    if (
        _corrects_another(heard)
        or before.field == first_of
        or not alike
        or not (meant or equal(before.value, last.value))
    ):
        return ()
    return (before,)


def _corrects_another(heard: Understood) -> bool:
    """A number that filled no field stands before the correction, and is what it corrects."""
    first = heard.scope.corrections[0].start if heard.scope.corrections else 0
    return any(amount.end <= first and amount.start not in heard.used for amount in heard.amounts)
