"""What a recogniser makes of short words, put right where the words around tell what they were.

A mended reading stands beside the one of the words as they were heard, and what it alone gives is
asked about.
"""

from __future__ import annotations

from recorder.notes.lexer import Sort, Token, Tokens
from recorder.notes.number_words import DIGITS, TEENS, TENS, word_at
from recorder.notes.numbers import number_at
from recorder.notes.scope import fillers
from recorder.notes.speaking import kept
from recorder.notes.unit_words import is_unit_word, unit_at
from recorder.notes.vocabulary import vocabulary, words

_POINT = {"point", "decimal", "dot"}
_IN_WORDS = {value: word for word, value in reversed(DIGITS.items()) if len(word) > 2}
_TIMES = {"s", "min"}
_LEAST_HOT = 100.0  # a number that can hardly be anything but the temperature of a platen


def without_commas(tokens: Tokens) -> Tokens:
    """As a recogniser strews them: "thirty, two psi"."""
    return tuple(token for token in tokens if token.text != ",")


def mended(tokens: Tokens) -> Tokens:
    """As in "one boy, eight bar", "to point for bar", "not 0.9 bar", "180 to degrees"."""
    opening = {t.start for i, t in enumerate(tokens) if i == 0 or tokens[i - 1].sort is Sort.SIGN}
    found = _points(_apart(without_commas(tokens)))
    found = _units(_noughts(_digits(found)))
    return _names(_dwells(found, opening))


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
    return len(tokens[i].raw) if 0 <= i < len(tokens) and tokens[i].raw.isdigit() else 0


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
        if before is not None and tens:
            whole = str(int(before.raw) + digit)
            found[-1] = before._replace(text=whole, raw=whole, end=token.end, value=float(whole))
        else:
            found.append(_said(token, _IN_WORDS[digit]))
    return tuple(found)


def _is_digit(tokens: Tokens, i: int) -> bool:
    before, after = word_at(tokens, i - 1), word_at(tokens, i + 1)
    if before in _POINT or (after in _POINT and _counts(tokens, i + 2)):
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
            if tokens[i].text in heard and pointed and before.sort is not Sort.SIGN:
                found[i] = _said(tokens[i], vocabulary()["units"][unit][0])
    return tuple(found)


def _dwells(tokens: Tokens, opening: set[int]) -> Tokens:
    """As in "12, four minutes", "twelve for 3 minutes"."""
    found = list(tokens)
    for i, token in enumerate(tokens):
        if token.text in words("mended", "dwell") and token.start in opening:
            j = i + 1 + (word_at(tokens, i + 1) in ("-", "for", "was", "is"))
            number = number_at(tokens, j) if j < len(tokens) else None
            unit = unit_at(tokens, number.end) if number else None
            if unit and unit[0] in _TIMES:
                found[i] = _said(token, "dwell")
    return tuple(found)


def _names(tokens: Tokens) -> Tokens:
    """As in "top clap 172": half of a platen's name."""
    found = list(tokens)
    for i in range(1, len(tokens) - 1):
        token = tokens[i]
        if word_at(tokens, i - 1) not in words("mended", "half_named") or not _is_strange(token):
            continue
        number = number_at(tokens, i + 1 + (word_at(tokens, i + 1) == "at"))
        if number and number.value >= _LEAST_HOT:
            found[i] = _said(token, words("mended", "platen")[0])
    return tuple(found)


def _is_strange(token: Token) -> bool:
    if token.sort is not Sort.WORD or token.text in fillers() or is_unit_word(token):
        return False
    known = {*DIGITS, *TEENS, *TENS, "hundred", *words("speech", "other_things")}
    return token.text not in known and token.text not in words("mended", "no_platen")
