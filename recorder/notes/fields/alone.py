"""Numbers that their unit alone, and the company that they keep, put into a field."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.notes.fields.neighbours import ONLY_FIELD
from recorder.notes.fields.saying import Saying
from recorder.notes.fields.scope import Scope, fillers
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

_SUPPLY = {"voltage": "current", "current": "voltage"}
_SHORT = 10  # tokens of a clause that is an item of a list
_FEW = 5  # numbers in an utterance that lists settings
_NEAR = 40  # tokens around the number that are looked at


@dataclass(frozen=True)
class Found:
    """doubts: empty when the sentence tells of nothing but the press."""

    field: str
    doubts: tuple[str, ...]


@kept
def _company() -> Phrases[str]:
    return Phrases(
        (phrase, key)
        for key in ("pressing", "supplying", "elsewhere")
        for phrase in words("company", key)
    )


def by_unit_alone(saying: Saying, amount: Amount, named: frozenset[str]) -> Found | None:
    """As in "we ran it at two bar", "230 volts, 16 amps", "two bar, 180 top, four minutes".

    named: the settings of the press that the sentence names.
    """
    tokens, amounts, scope = saying.tokens, saying.amounts, saying.scope
    dimension = UNITS[amount.unit].dimension if amount.unit in UNITS else ""
    sentence = scope.sentence_of(amount.start)
    near = range(max(0, amount.start - _NEAR), min(len(tokens), amount.end + _NEAR))
    said = {
        key
        for i in near
        if scope.sentence_of(i) == sentence and (hit := _company().at(tokens, i))
        for key in hit.meanings
    }
    if "elsewhere" in said:
        return None
    only = _only_numbers(tokens, amounts)
    pressures = [a for a in amounts[:_FEW] if a.unit in UNITS and _is_pressure(a)]
    if dimension == "time" and (_is_listed(tokens, amount, scope, named) or (only and pressures)):
        return Found("dwell_time", ())
    field = ONLY_FIELD.get(dimension)
    if field is None:
        return None
    doubt = (f"taken as {FIELDS[field].label.lower()} by its unit alone",)
    if dimension in _SUPPLY:
        place = bisect_left(amounts, amount.start, key=lambda a: a.start)
        beside = amounts[max(0, place - 2) : place + 3]
        other = any(
            a.unit in UNITS and UNITS[a.unit].dimension == _SUPPLY[dimension] for a in beside
        )
        return Found(field, () if other or "supplying" in said else doubt)
    sure = named or "pressing" in said or only
    return Found(field, () if sure else doubt)


def _is_pressure(amount: Amount) -> bool:
    return UNITS[amount.unit or ""].dimension == "pressure"


def _only_numbers(tokens: Tokens, amounts: list[Amount]) -> bool:
    """An utterance of settings alone: "Twenty seven psi.", "1.8 bar, four minutes."."""
    if len(amounts) > _FEW or len(tokens) > _NEAR:
        return False
    inside = {i for amount in amounts for i in range(amount.start, amount.end)}
    rest = [token for i, token in enumerate(tokens) if i not in inside]
    return all(t.text in fillers() or t.sort is not Sort.WORD for t in rest)


def _is_listed(tokens: Tokens, amount: Amount, scope: Scope, named: frozenset[str]) -> bool:
    """A time by itself between commas, in a sentence that names no other time of the press."""
    times = any(FIELDS[name].unit == "s" for name in named)
    if times or not {"top_temperature", "bottom_temperature"} & named:
        return False
    clause = scope.clauses[scope.clause_of[amount.start]]
    rest = [*tokens[clause.start : amount.start], *tokens[amount.end : clause.end]]
    listed = clause.end - clause.start <= _SHORT
    return listed and all(t.text in fillers() or not t.text.isalnum() for t in rest)
