"""What a few words say to a question, without a value of their own: yes, no, later, the second."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from recorder.model.quantity import Quantity
from recorder.model.reading import Reading
from recorder.model.transcript import Utterance, Word
from recorder.notes.hearing.sameness import Value, equal, said_as
from recorder.notes.numbers.amounts import amounts_of
from recorder.notes.words.lexer import Sort, tokens_of
from recorder.notes.words.vocabulary import words

Said = TypeVar("Said")

# Of a word of yes or no on which all hearings agree. A voice that says "correct" clearly is heard
# with 0.1 to 0.4 (ten synthetic voices); less is what a recogniser makes of a noise.
_HARDLY_HEARD = 0.1
_LONGEST_OPENING = 4  # words
_FEWEST_LEFT_OUT = 10  # of a number that may be told by its end alone: "seventy-two" for 172


class AnswerKind(StrEnum):
    """What words are to a question.

    value: they give one. yes, no: of that which was asked about. later: to be asked at the end.
    no_value: there is none, or nobody knows it. not_an_answer: something else was said.
    """

    VALUE = "value"
    YES = "yes"
    NO = "no"
    LATER = "later"
    NO_VALUE = "no_value"
    NOT_AN_ANSWER = "not_an_answer"


def yes_or_no(utterances: Sequence[Utterance]) -> bool | None:
    """What a bare yes or no says; None for anything else, when the hearings differ, or when a word
    of it was hardly heard: a yes makes a value as sure as it can be.
    """
    if any(_hardly_heard(utterance) for utterance in utterances):
        return None
    said = {_in_all_hearings(utterance, _bare) for utterance in utterances}
    return said.pop() if len(said) == 1 else None


def is_soft(utterance: Utterance) -> bool:
    """Whether a yes is one that people also say to themselves and to others: "okay", "right"."""
    return set(_texts(utterance.words)) <= {*words("answers", "soft"), *_around()}


def perhaps_short(utterance: Utterance) -> bool:
    """Whether a hearing takes it for a bare yes, no or later, though the others may not."""
    hearings = (utterance.words, *(other.words for other in utterance.others))
    return any(_bare(said) is not None or _put_off(said) is not None for said in hearings)


def put_off(utterance: Utterance) -> AnswerKind | None:
    """Later, or no value, when the words say nothing else."""
    return _in_all_hearings(utterance, _put_off)


def choices(reading: Reading) -> tuple[Value, ...]:
    """What a doubtful reading may be, in the order in which it is asked."""
    return (reading.value, *reading.candidates)


def chosen(utterance: Utterance, reading: Reading) -> tuple[Value, ...] | None:
    """The one of the choices of a reading that the words point at; empty when they say none of
    them, None when they are no choice, or when the hearings differ.
    """
    if _hardly_heard(utterance):
        return None
    return _in_all_hearings(utterance, lambda said: _chosen(said, reading))


@dataclass(frozen=True)
class Opening:
    """A yes or no in ``first``, and the ``rest`` that is told behind it."""

    yes: bool
    first: Utterance
    rest: Utterance


def opening(utterance: Utterance) -> Opening | None:
    """The yes or no with which words open that go on: "yes, and dwell four minutes". None when the
    hearings differ in it, or when it may be the opening of anything.
    """
    ends = [_opening_end(said) for said in (utterance.words, *(o.words for o in utterance.others))]
    if 0 in ends:
        return None
    first = _cut(utterance, [slice(end) for end in ends])
    said = yes_or_no((first,))
    rest = _cut(utterance, [slice(end, None) for end in ends])
    return None if said is None else Opening(said, first, rest)


def _cut(utterance: Utterance, parts: list[slice]) -> Utterance:
    """A part of each hearing."""
    words, *others = parts
    told = zip(utterance.others, others, strict=True)
    return utterance.model_copy(
        update={
            "words": utterance.words[words],
            "others": tuple(o.model_copy(update={"words": o.words[part]}) for o, part in told),
        }
    )


def _opening_end(said: tuple[Word, ...]) -> int:
    """How many words of a hearing are a yes or no with which it opens; 0 when it ends there."""
    phrases = (*words("answers", "opening"), *words("answers", "no"))
    for end in range(min(_LONGEST_OPENING, len(said) - 1), 0, -1):
        text = " ".join(_texts(said[:end]))
        parted = not said[end - 1].text[-1:].isalnum()
        if text in phrases and (parted or text in words("answers", "plain")):
            return end
    return 0


def _hardly_heard(utterance: Utterance) -> bool:
    said = [word.probability for word in utterance.words]
    return any(probability is not None and probability < _HARDLY_HEARD for probability in said)


def _in_all_hearings(
    utterance: Utterance, read: Callable[[tuple[Word, ...]], Said | None]
) -> Said | None:
    """What all hearings say alike. One further hearing that has no word at all, as happens with
    short answers, has no say where another agrees.
    """
    first = read(utterance.words)
    others = [other.words for other in utterance.others if other.words]
    if len(utterance.others) - len(others) > min(1, len(others)):
        return None
    return first if all(read(other) == first for other in others) else None


def _texts(said: tuple[Word, ...]) -> list[str]:
    tokens = tokens_of(" ".join(word.text for word in said))
    return [token.text for token in tokens if token.sort is not Sort.SIGN]


def _bare(said: tuple[Word, ...]) -> bool | None:
    text = _texts(said)
    for value, key in ((True, "yes"), (False, "no")):
        phrases = words("answers", key)
        if " ".join(text) in phrases or " ".join(dict.fromkeys(text)) in phrases:
            return value
        single = {phrase for phrase in phrases if " " not in phrase}
        if text and text[0] in single and all(t in single | _around() for t in text):
            return value
    return None


def _around() -> set[str]:
    return set(words("answers", "around"))


def _put_off(said: tuple[Word, ...]) -> AnswerKind | None:
    text = _texts(said)
    inner = [t for t in text if t not in _around()]
    for kind in (AnswerKind.NO_VALUE, AnswerKind.LATER):
        phrases = words("answers", kind)
        if any(" ".join(each) in phrases for each in (text, inner, dict.fromkeys(inner))):
            return kind
    return None


def _chosen(said: tuple[Word, ...], reading: Reading) -> tuple[Value, ...] | None:
    offered = choices(reading)
    text = [t for t in _texts(said) if t not in _around()]
    if len(offered) > 1:
        places = _places(" ".join(text), offered)
        if places is not None:
            return tuple(offered[place] for place in places)
    ended = [value for value in offered if _ends_with(text, value, reading)]
    return (ended[0],) if len(ended) == 1 else None


def _places(text: str, offered: tuple[Value, ...]) -> tuple[int, ...] | None:
    """The places that the words point at; None when they point at none."""
    if text in words("answers", "neither"):
        return ()
    for place in range(len(offered)):
        if text in words("answers", f"choice_{place + 1}"):
            return (place,)
    numbers = [value for value in offered if type(value) is float]
    if text in words("answers", "choice_last"):
        return (len(offered) - 1,)
    if len(numbers) == len(offered):
        for key, pick in (("choice_lower", min), ("choice_higher", max)):
            if text in words("answers", key):
                return (offered.index(pick(numbers)),)
    return None


def _ends_with(text: list[str], value: Value, reading: Reading) -> bool:
    """As "seventy-two" is the end of 172: a number that is no value of its own."""
    if type(value) is not float:
        return False
    tokens = tokens_of(" ".join(text))
    amounts = amounts_of(tokens)
    if len(amounts) != 1 or amounts[0].unit is not None or amounts[0].start != 0:
        return False
    if amounts[0].end != len(tokens):
        return False
    told = amounts[0].value
    whole = _in_the_unit_said(value, reading)
    if told < _FEWEST_LEFT_OUT or not told.is_integer() or not equal(whole, float(round(whole))):
        return False
    return whole > told and str(round(whole)).endswith(str(round(told)))


def _in_the_unit_said(value: float, reading: Reading) -> float:
    said = said_as(reading)
    if said is None or reading.unit is None or said.unit == reading.unit:
        return value
    return round(Quantity(value=value, unit=reading.unit).to(said.unit).value, 6)
