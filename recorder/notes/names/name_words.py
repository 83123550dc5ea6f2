"""The words of a name: which belong to it, what it is of, and how it is written."""

from __future__ import annotations

from recorder.notes.numbers.numbers import number_at
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

LONGEST_NAME = 6  # words
INSIDE = {"&", "and", "of", "-", "'", "’", "+"}


@kept
def kinds_of(field: str) -> Phrases[str]:
    """What a thing of the field is, as "bakery", "infeed"."""
    return Phrases((phrase, phrase) for phrase in words("kinds", field))


def is_capital(tokens: Tokens, i: int) -> bool:
    token = tokens[i]
    inner = token.text in INSIDE and i > 0 and tokens[i - 1].raw[:1].isupper()
    own = token.text not in words("naming", "never")
    return inner or (token.sort is Sort.WORD and token.raw[:1].isupper() and own)


def written(tokens: Tokens, i: int, j: int) -> str:
    """As spoken, but the numbers of a name in figures: "Boxford 1200"."""
    parts: list[str] = []
    n = i
    while n < j:
        number = number_at(tokens, n) if tokens[i].raw[:1].isupper() and n > i else None
        whole = number is not None and number.end <= j and bool(number.digits)
        raw = number.digits if number and whole else tokens[n].raw
        parts.append(raw if n == i or tokens[n].glued else f" {raw}")
        n = number.end if number and whole else n + 1
    return "".join(parts)[:80]
