"""Two numbers that size one thing: "belt 70 x 2 mm", "thirty by ten fingers"."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from recorder.model.units import UNITS
from recorder.notes.fields.mentions import unit_as_said
from recorder.notes.fields.scope import Scope
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, vocabulary, words

_BEFORE, _AFTER = 8, 4  # tokens from the numbers to the thing


@kept
def _things() -> Phrases[tuple[str, str]]:
    tables: dict[str, dict[str, list[str]]] = vocabulary().get("sizes", {})
    return Phrases(
        (phrase, (table["fields"][0], table["fields"][1]))
        for table in tables.values()
        for phrase in table["words"]
    )


def sizes_of(tokens: Tokens, amounts: list[Amount], scope: Scope) -> dict[int, tuple[str, Amount]]:
    """Field and amount by the places of two amounts that size one thing: the larger comes first.

    A unit that was said once holds for both.
    """
    found: dict[int, tuple[str, Amount]] = {}
    for left, right in pairwise(amounts):
        if left.start in found or not _by(tokens, left, right):
            continue
        units = {left.unit, right.unit} - {None}
        if len(units) > 1 or any(UNITS[u].dimension != "length" for u in units if u):
            continue
        if left.value <= right.value or scope.clause_of[left.start] in scope.barred:
            continue
        fields = _thing(tokens, left, right, scope)
        if fields is None:
            continue
        unit = unit_as_said(tokens, right) or next(iter(units), None)
        for field, amount in zip(fields, (left, right), strict=True):
            found[amount.start] = field, replace(amount, unit=unit)
    return found


def _by(tokens: Tokens, left: Amount, right: Amount) -> bool:
    signs = words("speech", "size_signs")
    between = [token.text for token in tokens[left.end : right.start]]
    after = tokens[right.end].text if right.end < len(tokens) else ""
    if not between or between[-1] not in signs or after in signs or right.clock or left.clock:
        return False
    return all(text in words("speech", "size_words") for text in between[:-1])


def _thing(tokens: Tokens, left: Amount, right: Amount, scope: Scope) -> tuple[str, str] | None:
    """The fields of the thing that is named nearest to the numbers, in their sentence."""
    sentence = scope.sentence_of(left.start)
    near = [*range(right.end, right.end + _AFTER), *range(left.start - 1, left.start - _BEFORE, -1)]
    for i in sorted(near, key=lambda i: left.start - i if i < left.start else i - right.end):
        if not 0 <= i < len(tokens) or scope.sentence_of(i) != sentence:
            continue
        hit = _things().at(tokens, i)
        if hit:
            return hit.meanings[0]
    return None
