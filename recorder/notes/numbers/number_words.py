"""English number words: the tables, and the groups of at most two digits that they make."""

from __future__ import annotations

from recorder.notes.words.lexer import Sort, Tokens

DIGITS = {
    **{"zero": 0, "nought": 0, "naught": 0, "oh": 0, "o": 0, "nil": 0},
    **{"one": 1, "two": 2, "three": 3, "four": 4, "five": 5},
    **{"six": 6, "seven": 7, "eight": 8, "nine": 9, "niner": 9},
}
TEENS = {
    **{"ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14},
    **{"fifteen": 15, "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19},
}
TENS = {
    **{"twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50},
    **{"sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90},
}
SCALES = {"thousand": 1e3, "million": 1e6, "billion": 1e9, "trillion": 1e12}
LARGE = {"hundred", *SCALES}
# "Thirty-second" is rather thirty seconds.
_ORDINALS = {"first", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"}
_ORDINALS |= {f"{word}th" for word in TEENS} | {"twelfth"}
_ORDINALS |= {f"{word[:-1]}ieth" for word in TENS}
_ROUND_ORDINALS = {"hundredth", "thousandth", "millionth"}


def word_at(tokens: Tokens, i: int) -> str:
    return tokens[i].text if 0 <= i < len(tokens) else ""


def below_hundred(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """One group of at most two digits as a string, and the place after it."""
    if i >= len(tokens):
        return None
    token = tokens[i]
    if token.text in TEENS:
        return str(TEENS[token.text]), i + 1
    if token.text in TENS:
        j = i + 2 if word_at(tokens, i + 1) == "-" and tokens[i + 1].glued else i + 1
        unit = DIGITS.get(word_at(tokens, j), 0)
        if unit and word_at(tokens, j) not in {"oh", "o"}:
            return str(TENS[token.text] + unit), j + 1
        return str(TENS[token.text]), i + 1
    if token.text in DIGITS:
        return str(DIGITS[token.text]), i + 1
    if token.sort is Sort.NUMBER and token.raw.isdigit() and len(token.raw) <= 2:
        return token.raw, i + 1
    return None


def is_ordinal(tokens: Tokens, end: int) -> bool:
    """Whether the number before tokens[end] goes on as an ordinal, as in "twenty-first".

    Not without a hyphen or an "and": in "one eighty third splice" the third begins another phrase.
    """
    before = word_at(tokens, end - 1)
    if word_at(tokens, end) in _ROUND_ORDINALS:
        return before != "one" and before not in {"a", "an"}
    joined = word_at(tokens, end) == "-" and tokens[end].glued and before in TENS
    added = word_at(tokens, end) == "and" and before in {"hundred", "thousand", "million"}
    if not joined and not added:
        return False
    word = word_at(tokens, end + 1)
    return word in _ORDINALS or (word in TENS and is_ordinal(tokens, end + 2))
