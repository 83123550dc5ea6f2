"""What a recogniser makes of short words, put right where the words around tell what they were.

A mended reading stands beside the one of the words as they were heard, and what it alone gives is
asked about.
"""

from __future__ import annotations

import re

from recorder.model.units import UNITS
from recorder.notes.numbers.number_words import DIGITS, TEENS, TENS, word_at
from recorder.notes.numbers.numbers import number_at
from recorder.notes.numbers.unit_words import is_unit_word, unit_at
from recorder.notes.words.lexer import Sort, Token, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import vocabulary, words

_POINT = {"point", "decimal", "dot"}
_IN_WORDS = {value: word for word, value in reversed(DIGITS.items()) if len(word) > 2}
_ONE_DECIMAL = re.compile(r"[1-9]\.[0-9]")
_ENDS = {".", "!", "?", ";"}
_TIMES = {"s", "min"}
_WIDTHS = {"mm", "inch", "cm"}
_FAR = 7  # tokens
_NEAR = 5


def without_commas(tokens: Tokens) -> Tokens:
    """As a recogniser strews them: "thirty, two psi"; not "one seventy eight, two point three"."""
    return tuple(
        token
        for i, token in enumerate(tokens)
        if token.text != ","
        or (_counts(tokens, i - 1) and _counts(tokens, i + 1) and word_at(tokens, i + 2) in _POINT)
    )


def mended(tokens: Tokens) -> Tokens:
    """As in "one boy, eight bar", "to point for bar", "well, I gave it four minutes"."""
    opening = {t.start for i, t in enumerate(tokens) if i == 0 or tokens[i - 1].sort is Sort.SIGN}
    found = _points(_apart(_within_numbers(tokens)))
    found = _units(_noughts(_digits(found)))
    return _widths(_dwells(found, opening), opening)


def _within_numbers(tokens: Tokens) -> Tokens:
    """Without the commas of a number alone, so that the clauses stay."""
    whole = set(without_commas(tokens))
    return tuple(
        token
        for i, token in enumerate(tokens)
        if token in whole or not (_is_part(tokens, i - 1) and _is_part_or_unit(tokens, i + 1))
    )


def _is_part(tokens: Tokens, i: int) -> bool:
    return _counts(tokens, i) or word_at(tokens, i) in {*_POINT, *words("mended", "point")}


def _is_part_or_unit(tokens: Tokens, i: int) -> bool:
    return _is_part(tokens, i) or (i < len(tokens) and is_unit_word(tokens[i]))


def _said(token: Token, text: str) -> Token:
    return token._replace(text=text, sort=Sort.WORD, value=None)


def _apart(tokens: Tokens) -> Tokens:
    """Digits without the hyphens between them: "1-88"."""
    return tuple(
        token
        for i, token in enumerate(tokens)
        if not (token.text == "-" and token.glued and _is_digits(tokens, i - 1) == 1
                and _is_digits(tokens, i + 1) in (1, 2))
    )  # fmt: skip


def _is_digits(tokens: Tokens, i: int) -> int:
    """How many digits are written there; 0 when it is anything else."""
    if not 0 <= i < len(tokens):
        return 0
    raw = tokens[i].raw
    return len(raw) if raw.isascii() and raw.isdigit() else 0


def _points(tokens: Tokens) -> Tokens:
    """As in "one void nine"."""
    heard = words("mended", "point")
    return tuple(
        _said(token, "point")
        if token.text in heard and _counts(tokens, i - 1) and _counts(tokens, i + 1)
        else token
        for i, token in enumerate(tokens)
    )


def _counts(tokens: Tokens, i: int) -> bool:
    text = word_at(tokens, i)
    number = text in DIGITS or text in TEENS or text in TENS or text in _digit_homophones()
    return number or _is_digits(tokens, i) > 0


@kept
def _digit_homophones() -> dict[str, int]:
    tables = vocabulary().get("digit_homophones", {})
    return {word: int(digit) for digit, heard in tables.items() for word in heard}


def _digits(tokens: Tokens) -> Tokens:
    """As in "to point for bar", "for minutes", "180 to degrees"."""
    found: list[Token] = []
    for i, token in enumerate(tokens):
        digit = _digit_homophones().get(token.text)
        if digit is None or not _is_digit(tokens, i):
            found.append(token)
            continue
        before = found[-1] if found else None
        tens = _is_digits(tokens, i - 1) > 1 and int(tokens[i - 1].raw) % 10 == 0
        pointed = before is not None and _ONE_DECIMAL.fullmatch(before.raw) is not None
        if before is not None and (tens or pointed):
            whole = before.raw + str(digit) if pointed else str(int(before.raw) + digit)
            found[-1] = before._replace(text=whole, raw=whole, end=token.end, value=float(whole))
        else:
            found.append(_said(token, _IN_WORDS[digit]))
    return tuple(found)


def _is_digit(tokens: Tokens, i: int) -> bool:
    before, after = word_at(tokens, i - 1), word_at(tokens, i + 1)
    if before in _POINT or (after in _POINT and _counts(tokens, i + 2)):
        return True
    if after == "hundred":
        return True
    # "To second" is no two seconds.
    return i + 1 < len(tokens) and is_unit_word(tokens[i + 1]) and _is_plural(after)


def _is_plural(unit: str) -> bool:
    return unit.endswith("s") or unit in ("bar", "psi", "mm")


def _noughts(tokens: Tokens) -> Tokens:
    """As in "it's not point four", "not 0.9 bar"."""
    heard = words("mended", "nought")
    return tuple(
        token
        for i, token in enumerate(tokens)
        if not (
            token.text in heard
            and i + 1 < len(tokens)
            and (tokens[i + 1].text in _POINT or tokens[i + 1].raw.startswith("0."))
        )
    )


def _units(tokens: Tokens) -> Tokens:
    """As in "two point six star": nothing but a setting is told with a point."""
    found = list(tokens)
    for unit, heard in vocabulary().get("unit_homophones", {}).items():
        for i in range(1, len(tokens)):
            before = tokens[i - 1]
            pointed = "." in before.raw[1:] or word_at(tokens, i - 2) in _POINT
            pointed = pointed or before.text in ("half", "quarter", "quarters")
            named = any(t.text in _names_of(unit) for t in tokens[max(0, i - _NEAR) : i])
            if tokens[i].text in heard and (pointed or named) and before.sort is not Sort.SIGN:
                found[i] = _said(tokens[i], vocabulary()["units"][unit][0])
    return tuple(found)


@kept
def _pressure() -> frozenset[str]:
    return frozenset(words("mended", "pressure"))


def _names_of(unit: str) -> frozenset[str]:
    return _pressure() if UNITS[unit].dimension == "pressure" else frozenset()


def _dwells(tokens: Tokens, opening: set[int]) -> Tokens:
    """As in "12, four minutes", "well, I gave it four minutes": the time is told of the press."""
    found = list(tokens)
    number, word = words("mended", "dwell"), words("mended", "dwell_before")
    for i, token in enumerate(tokens):
        opens = token.start in opening and token.text in (*number, *word)
        told = opens and _tells_time(tokens, i + 1, 0 if token.text in number else _FAR)
        if told or (token.text in word and _closes(tokens, i)):
            found[i] = _said(token, "dwell")
    return tuple(found)


def _closes(tokens: Tokens, i: int) -> bool:
    """As in "four minutes in the press, that's it well."."""
    unit = i > 1 and is_unit_word(tokens[i - 1])
    behind = unit or word_at(tokens, i - 1) in words("mended", "before_last")
    return behind and (i + 1 == len(tokens) or tokens[i + 1].sort is Sort.SIGN)


def _tells_time(tokens: Tokens, start: int, reach: int) -> bool:
    """Whether a time with its unit follows, past so many words that name nothing else."""
    i = start + (word_at(tokens, start) in ("-", "for", "was", "is"))
    for place in range(i, min(len(tokens), i + reach + 1)):
        if tokens[place].text in _ENDS or tokens[place].text in words("mended", "other_times"):
            return False
        number = number_at(tokens, place)
        if number is not None:
            unit = unit_at(tokens, number.end)
            if unit is not None:
                return unit[0] in _TIMES
    return False


def _widths(tokens: Tokens, opening: set[int]) -> Tokens:
    """As in "belled with 24 inches": a sentence that opens with a size."""
    found = list(tokens)
    for i in range(1, len(tokens) - 1):
        j = i + 1 + (word_at(tokens, i + 1) in ("is", "of", "this", "was"))
        number = number_at(tokens, j) if j < len(tokens) else None
        unit = unit_at(tokens, number.end) if number else None
        opens = tokens[i].text in words("mended", "width") and tokens[i - 1].start in opening
        if opens and unit and unit[0] in _WIDTHS:
            found[i] = _said(tokens[i], "width")
    return tuple(found)
