"""Whether words that name no field can be the value that was asked for: talk between two people
goes on while a question is open, and a number or a name in it is no answer.
"""

from __future__ import annotations

from recorder.model.fields import Field, Kind
from recorder.model.reading import Reading, Spoken
from recorder.model.transcript import Utterance
from recorder.notes.fields.values import plausible
from recorder.notes.numbers.amounts import amounts_of
from recorder.notes.words.lexer import Sort, Tokens, tokens_of
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import vocabulary, words

_LONGEST_NAME = 5  # words
_SIGNS = {".", "!", "?", ";", ",", ":"}
_MEASURED = (Kind.QUANTITY, Kind.COUNT, Kind.TIME)


def may_answer(field: Field, reading: Reading, utterance: Utterance) -> bool:
    """Whether the reading that the words gave, as they were taken for an answer, is one.

    A measured value stands alone in its clause but for the small words of an answer, and one
    without a unit can be. A name is short, written as one, and says nothing of what somebody does.
    """
    said = reading.evidence.said if isinstance(reading.evidence, Spoken) else ""
    if not _can_be(reading, said):
        return False
    for heard in (utterance.words, *(other.words for other in utterance.others)):
        text = " ".join(word.text for word in heard)
        at = text.find(said)
        if at >= 0:
            return _may_answer(field, str(reading.value), tokens_of(text), at, at + len(said))
    return False


def _can_be(reading: Reading, said: str) -> bool:
    if type(reading.value) is not float or plausible(reading.field, reading.value):
        return True
    return any(amount.unit for amount in amounts_of(tokens_of(said)))


def _may_answer(field: Field, value: str, tokens: Tokens, start: int, end: int) -> bool:
    measured = field.kind in _MEASURED
    if field.kind is not Kind.TEXT and not measured:
        return True
    if any(token.text == "?" for token in tokens):
        return False
    if _meaning(_clause(tokens, start, end) if measured else tokens, start, end):
        return False
    return measured or _is_code(field, value) or _is_name(field, value)


def _clause(tokens: Tokens, start: int, end: int) -> Tokens:
    """The clause in which tokens stand at start to end, which are offsets."""
    ends = [token.start for token in tokens if token.text in _ends()]
    first = max((place for place in ends if place < start), default=-1)
    last = min((place for place in ends if place >= end), default=tokens[-1].end)
    return tuple(token for token in tokens if first < token.start < last)


def _meaning(tokens: Tokens, start: int, end: int) -> bool:
    """Whether words beside those at start to end say something of their own."""
    beside = [t for t in tokens if not start <= t.start < end and t.sort is not Sort.SIGN]
    return any(token.text not in _small() for token in beside)


def _is_code(field: Field, value: str) -> bool:
    named = field.name in vocabulary()["identifiers"]
    return named and " " not in value and any(char.isdigit() for char in value)


def _is_name(field: Field, value: str) -> bool:
    tokens = tokens_of(value)
    plain = [token for token in tokens if token.sort is not Sort.SIGN]
    if {token.text for token in plain} & set(words("answers", "no_name")):
        return False
    if field.name in vocabulary()["free_text"]:
        return len(plain) > 1
    numbers = {i for amount in amounts_of(tokens) for i in range(amount.start, amount.end)}
    capitals = sum(token.raw[:1].isupper() for token in plain)
    return len(plain) <= _LONGEST_NAME and len(numbers) < len(tokens) and 2 * capitals >= len(plain)


@kept
def _small() -> frozenset[str]:
    """What may stand beside an answer: "about three minutes I would say"."""
    answers = vocabulary()["answers"]
    lists = ("around", "openers", "beside", "yes", "no")
    hedges = (word for phrase in words("speech", "hedges") for word in phrase.split())
    return frozenset(w for key in lists for p in answers[key] for w in p.split()) | {*hedges}


@kept
def _ends() -> frozenset[str]:
    return frozenset({*_SIGNS, "and", *words("speech", "clause_words")})
