"""Numbers that one word names twice, told apart by another: tension marks before and after."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from recorder.model.fields import FIELDS
from recorder.model.units import convert
from recorder.notes.fields.mentions import fits, unit_as_said
from recorder.notes.fields.scope import Scope, fillers
from recorder.notes.fields.slot import Told
from recorder.notes.fields.values import plausible
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Hit, Phrases, vocabulary, words

_REACH = 6  # tokens between a number and the word that tells which it is


@kept
def _names() -> Phrases[str]:
    tables: dict[str, dict[str, list[str]]] = vocabulary().get("twofold", {})
    return Phrases((phrase, name) for name, table in tables.items() for phrase in table["words"])


@kept
def _sides(name: str) -> Phrases[str]:
    """The words that tell one field from the other, each with its field."""
    table: dict[str, dict[str, list[str]]] = vocabulary()["twofold"][name]["fields"]
    return Phrases((phrase, field) for field, phrases in table.items() for phrase in phrases)


def marks_of(
    tokens: Tokens, amounts: list[Amount], scope: Scope, told: Told
) -> tuple[dict[int, tuple[str, Amount]], str]:
    """Field and amount by the place of each amount that is told of such a pair, and its name.

    The name may stand in the utterance before: "Tension marks a thousand before." "Ten twelve
    after." A number belongs to the word that touches it, or is nearest.
    """
    hits = _names().all(tokens)
    name = hits[0].meanings[0] if hits else told.pair
    if not name:
        return {}, ""
    inside = {i for amount in amounts for i in range(amount.start, amount.end)}
    sides = [hit for hit in _sides(name).all(tokens) if hit.start not in inside]
    if not sides:
        return (_from_to(tokens, amounts, name), name) if hits else ({}, "")
    found: dict[int, tuple[str, Amount]] = {}
    taken: set[int] = set()
    starts = {side.start: side for side in sides}
    ends = {side.end: side for side in sides}
    distances = []
    for n, amount in enumerate(amounts):
        if not fits(sides[0].meanings[0], amount):
            continue
        for gap in range(_REACH + 1):
            for side in (ends.get(amount.start - gap), starts.get(amount.end + gap)):
                if side is None or not _one_sentence(scope, side, amount):
                    continue
                # A number that only goes on from the utterance before must look like a distance.
                if not hits and not amount.unit and not plausible(side.meanings[0], amount.value):
                    continue
                low, high = sorted((side.end, amount.start, amount.end, side.start))[1:3]
                joined = sum(t.text in words("speech", "joints") for t in tokens[low:high])
                distances.append((gap + 2 * joined, n, side))
    for _, n, side in sorted(distances, key=lambda d: d[:2]):
        if amounts[n].start in found or side.start in taken:
            continue
        found[amounts[n].start] = side.meanings[0], amounts[n]
        taken.add(side.start)
    found |= _first_of(tokens, amounts, found, hits)
    return _with_one_unit(tokens, found), name


def _first_of(
    tokens: Tokens,
    amounts: list[Amount],
    found: dict[int, tuple[str, Amount]],
    hits: list[Hit[str]],
) -> dict[int, tuple[str, Amount]]:
    """As in "the marks were 500, now 503": the one right behind the name is the one before."""
    if len(found) != 1 or not hits:
        return {}
    fields: list[str] = [*vocabulary()["twofold"][hits[0].meanings[0]]["fields"]]
    ((start, (field, _)),) = found.items()
    free = [a for a in amounts if hits[0].end <= a.start < start and fits(field, a)]
    if field != fields[-1] or len(free) != 1:
        return {}
    near = tokens[hits[0].end : free[0].start]
    small = all(t.text in fillers() or t.text in words("speech", "joints") for t in near)
    return {free[0].start: (fields[0], free[0])} if small else {}


def _from_to(tokens: Tokens, amounts: list[Amount], name: str) -> dict[int, tuple[str, Amount]]:
    """As in "the marks went from 1000 to 1008": the first is the one before."""
    fields: list[str] = [*vocabulary()["twofold"][name]["fields"]]
    for first, second in pairwise(amounts):
        between = [token.text for token in tokens[first.end : second.start]]
        before = tokens[first.start - 1].text if first.start else ""
        both = fits(fields[0], first) and fits(fields[1], second)
        if both and between == ["to"] and before == "from":
            pair = zip(fields, (first, second), strict=True)
            told = {a.start: (field, replace(a, ranged=False)) for field, a in pair}
            return _with_one_unit(tokens, told)
    return {}


def _one_sentence(scope: Scope, side: Hit[str], amount: Amount) -> bool:
    return scope.sentence_of(side.start) == scope.sentence_of(amount.start)


def _with_one_unit(
    tokens: Tokens, found: dict[int, tuple[str, Amount]]
) -> dict[int, tuple[str, Amount]]:
    """A unit that was said once holds for both, when both are then likely."""
    units = {unit_as_said(tokens, amount) for _, amount in found.values()} - {None}
    unit = next(iter(units)) if len(units) == 1 else None
    if unit is None:
        return found
    return {
        start: (field, amount if amount.unit else _lent(field, amount, unit))
        for start, (field, amount) in found.items()
    }


def _lent(field: str, amount: Amount, unit: str) -> Amount:
    if unit == "mil":
        return replace(amount, unit=unit)
    value = convert(amount.value, unit, FIELDS[field].unit or "")
    return replace(amount, unit=unit) if plausible(field, value) else amount
