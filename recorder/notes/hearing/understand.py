"""One stretch of speech understood: moves, names, findings and numbers, in the order told."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from recorder.model.fields import FIELDS, Kind
from recorder.notes.fields.filling import Filled, fill
from recorder.notes.fields.scope import Scope
from recorder.notes.fields.slot import Slot, Told
from recorder.notes.fields.values import Habit
from recorder.notes.names.findings import answered_finding, corrected_choice, findings_of
from recorder.notes.names.free_text import free_text_of
from recorder.notes.names.movement import Move, moves_of
from recorder.notes.names.names import answered_name, corrected_name, names_of, wondered_name
from recorder.notes.names.questions import wondering
from recorder.notes.names.times import answered_time, times_of
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Sort, Tokens, tokens_of

# What is told by name or by the clock, so that a bare one may be told anew.
_NAMED = (Kind.TEXT, Kind.TIME)
_RIGHT_BEHIND = 2  # tokens


@dataclass(frozen=True)
class Understood:
    """slots, moves: in the order told. used: places of tokens that were understood. told: for the
    next stretch. amounts: all numbers, also those that fill no slot. habit: with the units that
    were said.
    """

    tokens: Tokens
    slots: tuple[Slot, ...]
    moves: tuple[Move, ...]
    used: frozenset[int]
    told: Told
    scope: Scope
    amounts: tuple[Amount, ...]
    habit: Habit


Mend = Callable[[Tokens], Tokens]


def understand(text: str, told: Told, habit: Habit, mend: Mend | None = None) -> Understood:
    """``mend``: what a recogniser wrote is put right by it first."""
    tokens = tokens_of(text)
    if mend:
        tokens = mend(tokens)
    moves = moves_of(tokens)
    names = names_of(tokens, habit)
    if told.asked and FIELDS[told.asked].kind is Kind.TEXT and not names:
        read = wondered_name if told.wondered else answered_name
        name = read(tokens, told.asked, habit)
        names = [replace(name, corrects=True)] if name else []
    names = _apart([*free_text_of(tokens), *names, *_times(tokens, told, habit)])
    taken = _places(moves) | _places(names)
    filled = fill(_masked(tokens, taken), told, habit)
    findings = [slot for slot in findings_of(tokens, filled.scope) if taken.isdisjoint(slot.places)]
    if told.asked and not any(slot.field == told.asked for slot in findings):
        answered = answered_finding(tokens, told.asked)
        findings += [replace(answered, corrects=True)] if answered else []
    if not findings and not filled.slots:
        corrected = corrected_choice(tokens, filled.scope, told.choice)
        findings += [corrected] if corrected else []
    names = [_of_its_time(slot, filled.scope) for slot in _told_anew(names, filled.scope)]
    names += _corrected(tokens, filled, names, told, habit)
    named = [slot.field for slot in names if FIELDS[slot.field].kind in _NAMED]
    chosen = [slot.field for slot in findings if FIELDS[slot.field].kind is Kind.CHOICE]
    after = filled.told
    if chosen or named or told.choice:
        choice = chosen[-1] if chosen else told.choice
        after = replace(after, choice=choice, name=named[-1] if named else "")
    after = wondering(tokens, after)
    slots = sorted([*names, *findings, *filled.slots], key=lambda slot: slot.start)
    used = filled.used | taken | {i for slot in slots for i in slot.places}
    return Understood(
        tokens,
        tuple(slots),
        tuple(moves),
        used,
        after,
        filled.scope,
        filled.amounts,
        filled.habit,
    )


def _told_anew(names: list[Slot], scope: Scope) -> list[Slot]:
    """A name behind a word of correction, or told twice with one in between, replaces the first."""
    earliest: dict[str, int] = {}
    for slot in names:
        earliest[slot.field] = min(slot.end, earliest.get(slot.field, slot.end))
    cues = sorted(cue.end for cue in scope.corrections)
    found = []
    for slot in names:
        told = earliest[slot.field]
        first = told if told <= slot.start else slot.start - _RIGHT_BEHIND
        led = bisect_left(cues, first) < bisect_right(cues, slot.start)
        found.append(replace(slot, corrects=slot.corrects or led))
    return found


def _of_its_time(slot: Slot, scope: Scope) -> Slot:
    """A name that is told of another time or place is asked about."""
    if scope.clause_of[slot.start] not in scope.past:
        return slot
    return replace(slot, unsettled=(*slot.unsettled, "told of another time or place"))


def _corrected(
    tokens: Tokens, filled: Filled, names: list[Slot], told: Told, habit: Habit
) -> list[Slot]:
    """A name that a correction tells anew."""
    if not filled.scope.corrections:
        return []
    cue = filled.scope.corrections[-1]
    before = [slot.field for slot in names if slot.end <= cue.start]
    field = before[-1] if before else told.name
    later = any(slot.start >= cue.start for slot in (*names, *filled.slots))
    if later or not field or FIELDS[field].kind not in _NAMED:
        return []
    for begin in _starts_after(filled.scope, cue.end):
        if FIELDS[field].kind is Kind.TIME:
            time = answered_time(tokens, field, habit, begin)
            found = replace(time, corrects=True) if time else None
        else:
            found = corrected_name(tokens, field, habit, begin)
        if found:
            return [found]
    return []


def _starts_after(scope: Scope, place: int) -> list[int]:
    """The place behind a correction, and where the clause after it begins: "no, I lie, 5591"."""
    later = [clause.start for clause in scope.clauses if clause.start > place]
    return [place, *later[:2]]


def _times(tokens: Tokens, told: Told, habit: Habit) -> list[Slot]:
    found = times_of(tokens, habit)
    if not found and told.asked and FIELDS[told.asked].kind is Kind.TIME:
        answered = answered_time(tokens, told.asked, habit)
        found = [replace(answered, corrects=True)] if answered else []
    again = told.name if told.name and FIELDS[told.name].kind is Kind.TIME else ""
    if not found and again:
        bare = answered_time(tokens, again, habit, whole=True)
        found = [replace(bare, corrects=True)] if bare else []
    return found


def _apart(slots: list[Slot]) -> list[Slot]:
    """Those that share no place with one before them in the list."""
    taken: set[int] = set()
    kept: list[Slot] = []
    for slot in slots:
        places = range(slot.start, slot.end)
        if taken.isdisjoint(places):
            kept.append(slot)
            taken.update(places)
    return kept


def _places(things: Iterable[Move | Slot]) -> set[int]:
    return {i for thing in things for i in range(thing.start, thing.end)}


def _masked(tokens: Tokens, places: set[int]) -> Tokens:
    """The same places, where what was understood already can mean nothing else."""
    if not places:
        return tokens
    return tuple(
        token._replace(text="·", sort=Sort.SIGN, value=None) if i in places else token
        for i, token in enumerate(tokens)
    )
