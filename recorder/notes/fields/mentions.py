"""Where a text speaks of a field: its trade words, and what is often heard instead of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.notes.numbers.amounts import Amount
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Hit, Phrases, vocabulary, words

# What was called so and is one of two units; see ``values.resolve``.
_LOOSE = {"deg": "temperature", "mil": "length"}

# Ways of naming a field behind its number alone; the second only when the number has a unit.
_BEHIND = ("after", "after_unit")
# Everyday words, as verbs, that name the field beside a number with its unit: "held it 4 minutes".
_WITH_UNIT = "with_unit"
# What a recogniser writes instead; the last two are everyday words too ("well", "state"), and name
# the field only where they touch a number with a unit, the last one only behind it.
_WEAK_HEARD = "weak_homophones"
_HEARD = ("homophones", _WEAK_HEARD, "homophones_after")
_THING_REACH = 12  # tokens
_IS = {"is", "was", "are", "were"}
# A number from here on is no number of everyday talk, as what a weak homophone stands in.
_LEAST_BARE = 100.0

_Sense = tuple[tuple[str, ...], str]  # the fields that are meant together, and how they are named


@dataclass(frozen=True)
class Mention:
    """tokens[start:end] name fields.

    options: each a set of fields meant together; several when the number's unit must decide.
    weak: also an everyday word. repaired: a homophone of the trade word. only_after: names the
    field only behind its number ("wide"). needs_unit: and that has a unit ("80 mm fingers"), or is
    below zero, or, with a homophone, is a large one.
    """

    options: tuple[tuple[str, ...], ...]
    start: int
    end: int
    weak: bool = False
    repaired: bool = False
    only_after: bool = False
    needs_unit: bool = False

    def fields_for(self, amount: Amount) -> tuple[str, ...] | None:
        """The fields whose dimension is the amount's; the first when it has no unit."""
        large = self.repaired and not self.only_after and amount.value >= _LEAST_BARE
        if self.needs_unit and amount.unit is None and not large and amount.value >= 0:
            return None
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
    return (_LOOSE.get(amount.unit) or UNITS[amount.unit].dimension) == dimension


def unit_as_said(tokens: Tokens, amount: Amount) -> str | None:
    """The amount's unit, and "mil" where it was called so and is one of two."""
    said = tokens[amount.number.end : amount.end]
    mil = any(token.text in words("either_unit", "mil") for token in said)
    return "mil" if mil and amount.unit == "thou" else amount.unit


@kept
def _phrases() -> Phrases[_Sense]:
    entries: list[tuple[str, _Sense]] = []
    tables = [((name,), table) for name, table in vocabulary()["fields"].items()]
    tables += [(tuple(group["fields"]), group) for group in vocabulary()["groups"]]
    for fields, table in tables:
        for manner in ("words", "weak", _WITH_UNIT, *_HEARD, *_BEHIND):
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
    # One that begins with a number ("12 time") is more than the number.
    bare = hit.end == hit.start + 1 and tokens[hit.start].sort is not Sort.WORD
    if not senses or bare:
        return None
    if any(manner == _BEHIND[0] for _, manner in senses):
        named = any(t.text in words("speech", "the_belt") for t in tokens[hit.start : hit.end])
        thing = "" if named else _thing_before(tokens, hit.start)
        senses = [s for s in senses if s[1] != _BEHIND[0] or _is_said_of(s[0][0], thing)]
    manners = {manner for _, manner in senses}
    if not manners:
        return None
    return Mention(
        tuple(dict.fromkeys(fields for fields, _ in senses)),
        hit.start,
        hit.end,
        weak=manners <= {"weak", _WITH_UNIT, *_BEHIND},
        repaired=manners <= {*_HEARD},
        only_after=manners <= {*_BEHIND, "homophones_after"},
        needs_unit=manners <= {_WITH_UNIT, "after_unit", _WEAK_HEARD, "homophones_after"},
    )


def _is_else(tokens: Tokens, hit: Hit[_Sense], sense: _Sense) -> bool:
    """As in "top edge", "pressure hose", "pulley width": the word is not about the setting."""
    owner = tokens[hit.start - 1].text.removesuffix("'s") if hit.start else ""
    if tokens[hit.start].text in words("speech", "said_of_others") and owner in _other_things():
        return True
    if sense[1] == _WEAK_HEARD and owner in words("speech", "before_everyday"):
        return True
    phrases = _not_before().get(sense[0][0])
    return bool(phrases and hit.end < len(tokens) and phrases.at(tokens, hit.end))


def _thing_before(tokens: Tokens, start: int) -> str:
    """What is wide, thick or long: the last thing named before the word, in its sentence. "It" is
    what was named before it.
    """
    it = ""
    for i in range(start - 1, max(0, start - _THING_REACH) - 1, -1):
        token = tokens[i]
        text = token.text.removesuffix("'s")
        if text in words("speech", "sentence_ends"):
            break
        subject = _subject(tokens, i) if token.text in _IS else ""
        if subject:
            return subject
        if text in words("speech", "it"):
            it = text
        elif text in _things():
            return text
    return it


def _subject(tokens: Tokens, i: int) -> str:
    """The thing of which a verb at tokens[i] tells, when it is named: "the slab is"."""
    the = tokens[i - 2].text if i > 1 else ""
    thing = tokens[i - 1].text
    named = the in words("naming", "article") and thing not in words("speech", "anaphors")
    return thing if named else ""


def _is_said_of(field: str, thing: str) -> bool:
    """As in "the guide is 8 mm wide": that is not the belt's width."""
    own = vocabulary()["fields"][field].get("of")
    if own is not None:
        return thing in own
    return not thing or thing in words("speech", "the_belt")


@kept
def _things() -> frozenset[str]:
    tables: dict[str, dict[str, Any]] = vocabulary()["fields"]
    named = {thing for table in tables.values() for thing in table.get("of", ())}
    return _other_things() | named | frozenset(words("speech", "the_belt"))


@kept
def _other_things() -> frozenset[str]:
    return frozenset(words("speech", "other_things"))
