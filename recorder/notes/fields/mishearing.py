"""What a recogniser may have written instead of a unit or a digit."""

from __future__ import annotations

from recorder.model.units import UNITS
from recorder.notes.numbers.amounts import Amount
from recorder.notes.numbers.number_words import word_at
from recorder.notes.numbers.unit_words import is_unit_word
from recorder.notes.words.lexer import Token, Tokens
from recorder.notes.words.vocabulary import vocabulary


def misheard_unit(token: Token, dimension: str) -> str | None:
    """The unit of that dimension for which a recogniser may have written this word."""
    return next(
        (
            unit
            for unit, spellings in vocabulary()["unit_homophones"].items()
            if token.text in spellings and UNITS[unit].dimension == dimension
        ),
        None,
    )


def misheard_digits(tokens: Tokens, amount: Amount) -> list[str]:
    """Doubts about a number beside a word that sounds like a digit and fits there less well:
    "one seventy to degrees", "to point eight bar".
    """
    digits = {word for words in vocabulary()["digit_homophones"].values() for word in words}
    found: list[str] = []
    after = amount.end + (word_at(tokens, amount.end) == ",")
    unitless = amount.unit is None and after + 1 < len(tokens)
    if unitless and tokens[after].text in digits and is_unit_word(tokens[after + 1]):
        found.append(tokens[after].raw)
    first = tokens[amount.start]
    pointed = first.text == "point" or first.raw.startswith(".")
    if pointed and word_at(tokens, amount.start - 1) in digits:
        found.append(tokens[amount.start - 1].raw)
    return [f"{word!r} may have been a digit" for word in found]
