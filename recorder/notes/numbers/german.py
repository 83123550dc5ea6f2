"""German number words and written numbers to digits, which the grammar of numbers reads.

German writes 1.200,5 for twelve hundred and a half. A recogniser may part the one word that a
number is ("einhundert fünfundsiebzig"), and people dictate digit by digit ("eins sieben fünf"),
which the grammar joins as it joins 1 7 5.
"""

from __future__ import annotations

import re

from recorder.notes.numbers.german_words import (
    mixed_number,
    ordinal_number,
    proper_fraction,
    whole_number,
)
from recorder.notes.words.lexer import Sort, Token, Tokens
from recorder.notes.words.speaking import in_force, kept

_ARTICLES = {"ein", "eine", "einen", "einem", "einer", "eines"}
_POINTS = {"komma", "punkt"}
_BIG = ("hundert", "tausend")
_MOST_TOKENS = 9  # "neun tausend neun hundert neun und neunzig", and a little room
_MOST_DIGITS = 13
_LAST_HOUR = 24


_JOINED = re.compile(
    "(?P<part>(?:drei)?viertel|halb)(?P<unit>.+)|(?P<whole>.+)(?P<point>komma)(?P<tail>.+)"
)
_WRITTEN = re.compile(r"[0-9]+(?:[.,][0-9]+)*")
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:\.[0-9]{3})+(?:,[0-9]+)?")


def read_numbers(tokens: Tokens) -> Tokens:
    """The same text in which each number is one token of digits, or one of a proper fraction."""
    tokens = tuple(part for token in tokens for part in _split(token))
    read: list[Token] = []
    i = 0
    while i < len(tokens):
        time = _time_of_day(tokens, i)
        number = None if time else _ordinal(tokens, i) or _number(tokens, i)
        one = ((number[0],), number[1]) if number else None
        here, i = time or one or ((tokens[i],), i + 1)
        read += here
    return tuple(read)


def _at(tokens: Tokens, i: int) -> str:
    """The word at tokens[i], or nothing."""
    return tokens[i].text if i < len(tokens) and tokens[i].sort is Sort.WORD else ""


def _number(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """The number at tokens[i] and the place after it."""
    whole = _written(tokens, i) or _spoken(tokens, i)
    if whole is None:
        return _fraction(tokens, i) or _one(tokens, i) or _with_point(tokens, i, i, "0")
    digits, j = whole
    if "." in digits:
        return _digits(tokens, i, j, digits)
    point = _with_point(tokens, i, j, digits)
    part = proper_fraction(_at(tokens, j)) or (1, 1)
    if point is None and part[0] == 0 and 0 < int(digits) < part[1]:
        return _part(tokens, i, j + 1, int(digits) / part[1])
    return point or _digits(tokens, i, j, digits)


def _written(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """1.200 and 1 200 are twelve hundred; 2,5 and 2.5 are two and a half."""
    raw = tokens[i].raw.replace(" ", "")
    if tokens[i].sort not in (Sort.NUMBER, Sort.CODE) or not _WRITTEN.fullmatch(raw):
        return None
    if len(raw) > _MOST_DIGITS or not raw.isascii():
        return None
    if _GROUPED.fullmatch(raw):
        return raw.replace(".", "").replace(",", "."), i + 1
    return (raw.replace(",", "."), i + 1) if len(re.findall("[.,]", raw)) <= 1 else None


def _spoken(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The longest whole number in words from tokens[i] on. A bare "ein" is the article."""
    best: tuple[str, int] | None = None
    joined = ""
    for j in range(i, min(i + _MOST_TOKENS, len(tokens))):
        word = _at(tokens, j)
        if not word or (joined and not _goes_on(joined, word)):
            break
        joined += word
        value = whole_number(joined) if joined != "ein" else None
        if value is not None:
            best = str(value), j + 1
    return best


def _goes_on(joined: str, word: str) -> bool:
    """Whether two words may be one number that was parted: not "zwei hundertachtzig"."""
    return joined.endswith((*_BIG, "und")) or word in (*_BIG, "und")


def _fraction(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """As in "halbe", "ein halb", "dreiviertel", "fünfachtel", "anderthalb", "zweieinhalb"."""
    j = i + 1 if _at(tokens, i) in _ARTICLES else i
    word = _at(tokens, j)
    proper = proper_fraction(word)
    if proper is None:
        mixed = mixed_number(word) if j == i else None
        return None if mixed is None else _digits(tokens, i, j + 1, f"{mixed:g}")
    above, below = proper
    if above and j > i and _at(tokens, i) == "ein":
        # "Ein einhalb" is one and a half; "ein dreiviertel" may be that much more than one, too.
        if above > 1:
            return _spanning(tokens, i, j + 1, word, Sort.CODE, 0.0), j + 1
        return _digits(tokens, i, j + 1, f"{1 + above / below:g}")
    return _part(tokens, i, j + 1, (above or 1) / below)


def _one(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """As in "ein Bar", "eine Minute", and not "ein Riss"."""
    if _at(tokens, i) in _ARTICLES and _at(tokens, i + 1) in _unit_words():
        return _digits(tokens, i, i + 1, "1")
    if _at(tokens, i) == "ein" and _at(tokens, i + 1) == "komma":
        return _with_point(tokens, i, i + 1, "1")
    return None


def _with_point(tokens: Tokens, i: int, j: int, whole: str) -> tuple[Token, int] | None:
    """As in "null Komma null fünf", "zwei Komma fünfundzwanzig", "Komma acht"."""
    if _at(tokens, j) not in _POINTS or (i == j and _at(tokens, j) != "komma"):
        return None
    digits, j = "", j + 1
    while j < len(tokens) and len(digits) < _MOST_DIGITS:
        raw = tokens[j].raw if tokens[j].sort is Sort.NUMBER else ""
        spoken = whole_number(_at(tokens, j))
        here = raw if raw.isdigit() else "" if spoken is None else str(spoken)
        # A second group is the next number: "zwei Komma fünf, hundertachtzig Grad".
        if not here or (len(here) > 1 and digits) or (len(here) > 2 and not raw):
            break
        digits, j = digits + here, j + 1
        if len(here) > 1:
            break
    return _digits(tokens, i, j, f"{whole}.{digits}") if digits else None


def _ordinal(tokens: Tokens, i: int) -> tuple[Token, int] | None:
    """As in "zweite", and "2." before what can be counted."""
    number = ordinal_number(_at(tokens, i))
    if number:
        return _counting(tokens, i, i + 1, number)
    if i + 2 >= len(tokens) or tokens[i + 1].text != "." or not tokens[i + 1].glued:
        return None
    digits = tokens[i].raw
    counted = tokens[i + 2].text in _counted()
    if not (counted and digits.isascii() and digits.isdigit() and len(digits) <= 2):
        return None
    return _counting(tokens, i, i + 2, int(digits))


def _time_of_day(tokens: Tokens, i: int) -> tuple[Tokens, int] | None:
    """As in "halb drei", "Viertel nach zehn", "zehn Uhr fünfzehn": a clock time and the word "uhr",
    which says that it is no duration.
    """
    part = {"viertel": 15, "halb": 30, "dreiviertel": 45}.get(_at(tokens, i))
    if part:
        side = _at(tokens, i + 1)
        hour = _hour(tokens, i + 2 if side in ("nach", "vor") else i + 1)
        after = _at(tokens, hour[1]) if hour else ""
        if hour is None or after in _unit_words() or proper_fraction(after):
            return None
        begun = hour[0] if side == "nach" else (hour[0] - 2) % 12 + 1
        minute = 60 - part if side == "vor" else part
        return _clock(tokens, i, hour[1], begun, minute)
    hour = _hour(tokens, i)
    if hour is None or _at(tokens, hour[1]) != "uhr":
        return None
    j = hour[1] + 1
    minute, end = _whole(tokens, j) or (0, j)
    if minute > 59 or _at(tokens, end) in _unit_words():
        minute, end = 0, j
    return _clock(tokens, i, end, hour[0], minute)


def _hour(tokens: Tokens, i: int) -> tuple[int, int] | None:
    whole = _whole(tokens, i)
    return whole if whole and whole[0] <= _LAST_HOUR else None


def _whole(tokens: Tokens, i: int) -> tuple[int, int] | None:
    """A whole number and the place after it."""
    found = (_written(tokens, i) or _spoken(tokens, i)) if i < len(tokens) else None
    return (int(found[0]), found[1]) if found and found[0].isdigit() else None


def _clock(tokens: Tokens, i: int, j: int, hour: int, minute: int) -> tuple[Tokens, int]:
    text = f"{hour}:{minute:02d}"
    time = _spanning(tokens, i, j - 1, text, Sort.CLOCK, 60.0 * hour + minute)
    return (time, tokens[j - 1]._replace(text="uhr", sort=Sort.WORD, value=None)), j


def _split(token: Token) -> Tokens:
    """As in "Viertelstunde", "Dreiviertelzoll", "zweikommafünf": words written as one."""
    match = _JOINED.fullmatch(token.text) if token.sort is Sort.WORD else None
    if match is None:
        return (token,)
    if match["unit"] in _unit_words():
        return tuple(_cut(token, *match.span(name)) for name in ("part", "unit"))
    numbers = match["whole"], match["tail"]
    if None not in numbers and all(whole_number(number) is not None for number in numbers):
        return tuple(_cut(token, *match.span(name)) for name in ("whole", "point", "tail"))
    return (token,)


def _cut(token: Token, start: int, end: int) -> Token:
    return token._replace(
        text=token.text[start:end],
        raw=token.raw[start:end],
        start=token.start + start,
        end=token.start + end,
        glued=token.glued if start == 0 else True,
    )


@kept
def _unit_words() -> frozenset[str]:
    table = in_force().tables["units"]
    return frozenset(phrase for phrases in table.values() for phrase in phrases)


@kept
def _counted() -> frozenset[str]:
    movement = in_force().tables["movement"]
    return frozenset({*movement["splice"], *movement["run"]})


def _digits(tokens: Tokens, i: int, j: int, digits: str) -> tuple[Token, int]:
    return _spanning(tokens, i, j, digits, Sort.NUMBER, float(digits)), j


def _counting(tokens: Tokens, i: int, j: int, number: int) -> tuple[Token, int]:
    return _spanning(tokens, i, j, f"{number}.", Sort.ORDINAL, float(number)), j


def _part(tokens: Tokens, i: int, j: int, value: float) -> tuple[Token, int]:
    return _spanning(tokens, i, j, f"{value:g}", Sort.FRACTION, value), j


def _spanning(tokens: Tokens, i: int, j: int, text: str, sort: Sort, value: float | None) -> Token:
    first, last = tokens[i], tokens[j - 1]
    text = text or " ".join(token.text for token in tokens[i:j])
    return Token(text, text, first.start, last.end, sort, value, first.glued)
