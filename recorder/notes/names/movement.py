"""Which splice and which press run is spoken of: "second splice", "run two", "press it again"."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from recorder.notes.numbers.number_words import DIGITS, TEENS
from recorder.notes.numbers.numbers import number_at
from recorder.notes.numbers.unit_words import unit_at
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
_ORDINAL = {word: i for i, word in enumerate((*_ORDINALS, "tenth"), start=1)}
_MOST = 20


class Way(Enum):
    SPLICE = auto()
    RUN = auto()
    ALL_SPLICES = auto()
    ONE = auto()  # a splice or something else: "the second one", "number two"


@dataclass(frozen=True)
class Move:
    """tokens[start:end] name a splice or a run. number: which; None for the next one."""

    way: Way
    number: int | None
    start: int
    end: int


@kept
def _things() -> Phrases[Way]:
    splices = [(phrase, Way.SPLICE) for phrase in words("movement", "splice")]
    return Phrases(splices + [(phrase, Way.RUN) for phrase in words("movement", "run")])


@kept
def _phrases() -> Phrases[Way]:
    again = [(phrase, Way.RUN) for phrase in words("movement", "again")]
    return Phrases(again + [(phrase, Way.ALL_SPLICES) for phrase in words("movement", "all_words")])


@kept
def _next_words() -> frozenset[str]:
    return frozenset(words("movement", "next_words"))


@kept
def _openers() -> frozenset[str]:
    """The first words of all that can name a splice or a run."""
    keys = ("splice", "run", "again", "all_words", "next_words", "number")
    first = {phrase.split()[0] for key in keys for phrase in words("movement", key)}
    return frozenset({opener.split("-")[0] for opener in first} | first | set(_ORDINAL))


def moves_of(tokens: Tokens) -> list[Move]:
    """All moves from left to right."""
    moves: list[Move] = []
    openers = _openers()
    i = 0
    while i < len(tokens):
        first = tokens[i].text.removesuffix("'s")
        opens = first in openers or tokens[i].sort is Sort.ORDINAL
        move = _move_at(tokens, i) if opens else None
        if move:
            moves.append(move)
        i = move.end if move else i + 1
    return moves


def _move_at(tokens: Tokens, i: int) -> Move | None:
    phrase = _phrases().at(tokens, i)
    if phrase:
        return Move(phrase.meanings[0], None, i, phrase.end)
    token = tokens[i]
    ordinal = int(token.value or 0) if token.sort is Sort.ORDINAL else _ORDINAL.get(token.text)
    if ordinal or token.text in _next_words():
        thing = _things().at(tokens, i + 1) if i + 1 < len(tokens) else None
        if thing and (ordinal is None or ordinal <= _MOST):
            return Move(thing.meanings[0], ordinal, i, thing.end)
        return _one(tokens, i, i + 1, ordinal) if ordinal and _points(tokens, i) else None
    numbered = token.text in words("movement", "number") and not _is_named(tokens, i)
    which = _small_number(tokens, i + 1) if numbered else None
    if which:
        return _one(tokens, i, i + 2, which)
    thing = _things().at(tokens, i)
    if thing is None:
        return None
    j = thing.end
    while j < len(tokens) and tokens[j].text in {"number", "no", "#", "-"}:
        j += 1
    number = _small_number(tokens, j)
    whole = number_at(tokens, j) if number else None
    counts = j + 1 < len(tokens) and tokens[j + 1].text in words("movement", "counted")
    longer = whole is not None and whole.end > j + 1
    if number is None or longer or counts or unit_at(tokens, j + 1):
        return None
    return Move(thing.meanings[0], number, i, j + 1)


def _one(tokens: Tokens, start: int, end: int, number: int) -> Move | None:
    """As in "reject the second", "number two's accepted": nothing else is numbered by it."""
    after = tokens[end] if end < len(tokens) else None
    if after is not None and after.text in words("movement", "ones"):
        return Move(Way.ONE, number, start, end + 1)
    ends = after is None or after.sort is Sort.SIGN or after.text in words("movement", "after_one")
    return Move(Way.ONE, number, start, end) if ends else None


def _points(tokens: Tokens, i: int) -> bool:
    return i > 0 and tokens[i - 1].text in words("movement", "pointers")


def _is_named(tokens: Tokens, i: int) -> bool:
    """As in "template number two"."""
    before = tokens[i - 1] if i else None
    if before is None or before.sort is Sort.SIGN:
        return False
    return before.text not in words("movement", "before_number")


def _small_number(tokens: Tokens, i: int) -> int | None:
    if i >= len(tokens):
        return None
    token = tokens[i]
    if token.text.endswith("'s"):
        token = token._replace(text=token.text[:-2])
    if token.sort is Sort.NUMBER and token.raw.isdigit() and 1 <= int(token.raw) <= _MOST:
        return int(token.raw)
    number = DIGITS.get(token.text) or TEENS.get(token.text)
    return number if number and token.text != "o" else None
