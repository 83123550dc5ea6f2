"""Units as people say and write them, after a number."""

from __future__ import annotations

from collections.abc import Iterator

from recorder.notes.lexer import Sort, Token, Tokens
from recorder.notes.speaking import kept
from recorder.notes.vocabulary import Phrases, vocabulary

# A shorter word with one wrong letter is too often another word.
_SHORTEST_MISSPELT = 6
# "12 in the morning", "2 in total": then it is not an inch.
_AFTER_INCH = {"wide", "thick", "long", "deep", "by", "x", "×", "belt", "gap", "high", "and", "per"}
# "the one second run": then it counts.
_AFTER_ORDINAL = {"splice", "slice", "run", "press", "pressing", "belt", "time", "finger", "one"}
_AFTER_ORDINAL |= {"attempt", "try", "half", "layer", "joint", "side"}


@kept
def _long() -> Phrases[str]:
    table = vocabulary()["units"]
    return Phrases((phrase, unit) for unit, phrases in table.items() for phrase in phrases)


@kept
def _short() -> dict[str, str]:
    table = vocabulary()["short_units"]
    return {spelling: unit for unit, spellings in table.items() for spelling in spellings}


def unit_at(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The unit after a number whose last token is tokens[i - 1], and the place after it.

    The bare "degrees" is the unit ``deg``; whoever knows the field decides what it means.
    """
    if i < len(tokens) and tokens[i].text == "-" and tokens[i].glued:
        i += 1
    if i >= len(tokens):
        return None
    hit = _long().at(tokens, i)
    if hit:
        return None if _is_ordinal(tokens, hit.start, hit.end) else (hit.meanings[0], hit.end)
    return _short_unit(tokens, i) or _misspelt(tokens, i)


def _is_ordinal(tokens: Tokens, start: int, end: int) -> bool:
    if tokens[start].text != "second" or end >= len(tokens):
        return False
    return tokens[end].text in _AFTER_ORDINAL


def _short_unit(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """Single letters and signs: only after written digits."""
    unit = _short().get(tokens[i].text)
    before = tokens[i - 1] if i else None
    if unit is None or before is None or before.sort not in (Sort.NUMBER, Sort.FRACTION):
        return None
    if tokens[i].text in {"in", "a"} and not tokens[i].glued and not _ends_value(tokens, i):
        return None
    if tokens[i].text in {"a", "k"} and not tokens[i].raw.isupper():
        return None
    return unit, i + 1


def _ends_value(tokens: Tokens, i: int) -> bool:
    if i + 1 >= len(tokens):
        return True
    after = tokens[i + 1]
    return after.sort is Sort.SIGN or after.text in _AFTER_INCH


def _misspelt(tokens: Tokens, i: int) -> tuple[str, int] | None:
    if tokens[i].sort is not Sort.WORD or len(tokens[i].text) < _SHORTEST_MISSPELT:
        return None
    unit = _nearest(tokens[i].text)
    return (unit, i + 1) if unit else None


@kept
def _nearest(word: str) -> str | None:
    """The unit whose one-word spelling differs by one letter, when there is exactly one."""
    if len(word) > 14:
        return None
    spellings = _one_word_spellings()
    found = {spellings[variant] for variant in _variants(word) if variant in spellings}
    return found.pop() if len(found) == 1 else None


@kept
def _one_word_spellings() -> dict[str, str]:
    table = vocabulary()["units"]
    return {
        phrase: unit
        for unit, phrases in table.items()
        for phrase in phrases
        if " " not in phrase and len(phrase) >= _SHORTEST_MISSPELT
    }


def _variants(word: str) -> Iterator[str]:
    """The word with one letter dropped, doubled, swapped or replaced; its first letter stays."""
    letters = "abcdefghijklmnopqrstuvwxyz"
    for i in range(1, len(word)):
        yield word[:i] + word[i + 1 :]
        if i + 1 < len(word):
            yield word[:i] + word[i + 1] + word[i] + word[i + 2 :]
        for letter in letters:
            yield word[:i] + letter + word[i + 1 :]
            yield word[:i] + letter + word[i:]
    for letter in letters:
        yield word + letter


def is_unit_word(token: Token) -> bool:
    return token.text in _unit_tokens()


@kept
def _unit_tokens() -> frozenset[str]:
    table = vocabulary()["units"]
    return frozenset(word for phrases in table.values() for p in phrases for word in p.split())
