"""Where a text speaks of a field: its trade words, and what is often heard instead of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.notes.amounts import Amount
from recorder.notes.lexer import Sort, Tokens
from recorder.notes.speaking import kept
from recorder.notes.vocabulary import Hit, Phrases, vocabulary, words

_Sense = tuple[tuple[str, ...], str]  # the fields that are meant together, and how they are named


@dataclass(frozen=True)
class Mention:
    """tokens[start:end] name fields.

    options: each a set of fields meant together; several when the number's unit must decide.
    weak: also an everyday word. repaired: a homophone of the trade word. only_after: names the
    field only behind its number ("wide").
    """

    options: tuple[tuple[str, ...], ...]
    start: int
    end: int
    weak: bool = False
    repaired: bool = False
    only_after: bool = False

    def fields_for(self, amount: Amount) -> tuple[str, ...] | None:
        """The fields whose dimension is the amount's; the first when it has no unit."""
        for fields in self.options:
            if fits(fields[0], amount):
                return fields
        return None


def fits(field: str, amount: Amount) -> bool:
    """Whether an amount can be a value of the field, by its dimension."""
    dimension = UNITS[FIELDS[field].unit or ""].dimension
    if amount.clock and amount.unit is None:
        return dimension == "time"
    if amount.unit is None:
        return True
    return (UNITS[amount.unit].dimension if amount.unit != "deg" else "temperature") == dimension


@kept
def _phrases() -> Phrases[_Sense]:
    entries: list[tuple[str, _Sense]] = []
    tables = [((name,), table) for name, table in vocabulary()["fields"].items()]
    tables += [(tuple(group["fields"]), group) for group in vocabulary()["groups"]]
    for fields, table in tables:
        for manner in ("words", "after", "weak", "homophones"):
            entries += [(phrase, (fields, manner)) for phrase in table.get(manner, ())]
    return Phrases(entries)


@kept
def _not_before() -> dict[str, Phrases[str]]:
    tables: dict[str, dict[str, Any]] = vocabulary()["fields"]
    return {
        name: Phrases((phrase, phrase) for phrase in table["not_before"])
        for name, table in tables.items()
        if "not_before" in table
    }


def mentions_of(tokens: Tokens) -> list[Mention]:
    """All mentions from left to right."""
    return [m for hit in _phrases().all(tokens) if (m := _mention(tokens, hit)) is not None]


def _mention(tokens: Tokens, hit: Hit[_Sense]) -> Mention | None:
    senses = [sense for sense in hit.meanings if not _is_else(tokens, hit, sense)]
    if not senses:
        return None
    if tokens[hit.start].sort is not Sort.WORD:
        return None
    manners = {manner for _, manner in senses}
    if manners == {"after"} and _of_else(tokens, hit.start):
        return None
    return Mention(
        tuple(dict.fromkeys(fields for fields, _ in senses)),
        hit.start,
        hit.end,
        weak=manners <= {"weak", "after"},
        repaired=manners == {"homophones"},
        only_after=manners == {"after"},
    )


def _is_else(tokens: Tokens, hit: Hit[_Sense], sense: _Sense) -> bool:
    """As in "top edge", "pressure hose", "pulley width": the word is not about the setting."""
    owner = tokens[hit.start - 1].text.removesuffix("'s") if hit.start else ""
    if tokens[hit.start].text in words("speech", "said_of_others") and owner in _other_things():
        return True
    phrases = _not_before().get(sense[0][0])
    return bool(phrases and hit.end < len(tokens) and phrases.at(tokens, hit.end))


def _of_else(tokens: Tokens, start: int) -> bool:
    """As in "the guide is 8 mm wide": the last thing named before it is not the belt."""
    for token in reversed(tokens[max(0, start - 12) : start]):
        if token.text in {"belt", "it", "it's", ".", ";"}:
            return False
        if token.text in _other_things():
            return True
    return False


@kept
def _other_things() -> frozenset[str]:
    return frozenset(words("speech", "other_things"))
