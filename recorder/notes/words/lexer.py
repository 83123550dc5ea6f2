"""Text to tokens: words, numbers, ordinals, clock times, codes and signs, with their offsets.

Everything after this works on tokens, so that recognised speech and written text meet one grammar.
"""

from __future__ import annotations

import re
from enum import Enum, auto
from typing import NamedTuple

from recorder.notes.words.speaking import in_force


class Sort(Enum):
    WORD = auto()
    NUMBER = auto()  # 172, 1,250, 2.25, .8
    ORDINAL = auto()  # 2nd
    FRACTION = auto()  # 3/8, ½
    CLOCK = auto()  # 3:30
    DURATION = auto()  # PT3M30S
    CODE = auto()  # T30-10, dates, anything with digits that is not a number
    SIGN = auto()


class Token(NamedTuple):
    """text: lower case. raw: as written. start, end: character offsets, end exclusive.
    value: of a number, an ordinal, a fraction, or a clock time in its smaller unit; seconds of a
    duration.
    glued: no blank before it.
    """

    text: str
    raw: str
    start: int
    end: int
    sort: Sort
    value: float | None = None
    glued: bool = False


Tokens = tuple[Token, ...]

VULGAR = {"½": 1 / 2, "¼": 1 / 4, "¾": 3 / 4, "⅓": 1 / 3, "⅔": 2 / 3, "⅛": 1 / 8, "⅜": 3 / 8}
VULGAR |= {"⅝": 5 / 8, "⅞": 7 / 8, "⅕": 1 / 5, "⅖": 2 / 5, "⅗": 3 / 5, "⅘": 4 / 5}

# More digits than this are an identifier; a float would not hold them either.
_LONGEST = 15
_LARGEST = 1e100
_DENOMINATORS = {2, 3, 4, 5, 6, 8, 10, 16, 32, 64}

_PATTERN = re.compile(
    r"""
    (?P<date>[0-9]{4}-[0-9]{2}-[0-9]{2}(?:T[0-9:.+Z-]{4,24})?(?![0-9])
        |[0-9]{1,2}[./][0-9]{1,2}[./][0-9]{4}(?![0-9]))
    |(?P<duration>(?-i:(?<![^\W_])P(?:[0-9]{1,4}D)?T(?=[0-9])(?:[0-9]{1,6}(?:\.[0-9]{1,6})?[HMS]){1,3})
        (?![^\W_]))
    |(?P<clock>(?<![0-9.,:])[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?![0-9:]))
    |(?P<fraction>(?<![0-9/.])[0-9]{1,2}\ ?/\ ?[0-9]{1,2}(?![0-9/.]))
    |(?P<ordinal>[0-9]{1,3}(?:st|nd|rd|th)\b)
    |(?P<number>(?<![0-9.,])(?:[1-9][0-9]?(?:\ [0-9]{3})+|[1-9][0-9]{2}(?:\ 000)+)(?![0-9.,])
        |(?<![0-9.,])[1-9][0-9]{2}\ [0-9]{3}(?=\ ?(?-i:Pa|km)\b)
        |[1-9][0-9]{0,2}(?:['’_][0-9]{3})+(?![0-9])
        |[0-9]+\.(?=\ ?(?-i:mm|cm|bar|psi|°\ ?[CF])\b)
        |[0-9]+(?:[.,][0-9]+)*(?:e[+-]?[0-9]{1,6}\b|e[+-][0-9]{1,3}(?![0-9]))?|(?<![0-9.])\.[0-9]+)
    |(?P<code>(?<![0-9°º˚])(?<![0-9][mc]m)(?<![0-9]m)(?<![0-9]ft)
        (?!(?<=['’′"”″])x[0-9])  # "12'x15'"
        (?!(?<=[0-9]\ )(?:[mck]?m|in|ft|bar|psi|[kM]?Pa|[CFVA]|min|s|h)-)  # "10 mm-15 mm"
        (?:[^\W\d_]{1,3}-|[^\W\d_]{1,12})[0-9][0-9A-Za-z]*(?:-[0-9]+)*)
    |(?P<vulgar>[½¼¾⅓⅔⅛⅜⅝⅞⅕⅖⅗⅘])
    |(?P<word>(?<=[0-9])(?:[mc]?m|ft)(?=x[0-9])|(?:(?![½¼¾⅓⅔⅛⅜⅝⅞⅕⅖⅗⅘])[^\W\d_])+(?:['’][^\W\d_]+)*)
    |(?P<sign>\S)
    """,
    re.VERBOSE | re.IGNORECASE,
)
_DURATION_PART = re.compile(r"([0-9.]+)([DHMS])")
_SECONDS = {"D": 86400.0, "H": 3600.0, "M": 60.0, "S": 1.0}
_SEPARATORS = re.compile(r"[ '’_]")
_GROUPED = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?")


def tokens_of(text: str) -> Tokens:
    """All tokens of a text, in order; blanks are dropped, nothing else.

    In another language than English its number words are digits already, and its small words those
    that the grammar knows; ``start`` and ``end`` stay those of the text.
    """
    found: list[Token] = []
    end = 0
    for match in _PATTERN.finditer(text):
        glued = match.start() == end and bool(found)
        found.append(_token(match, glued))
        end = match.end()
    read = in_force().read
    return read(tuple(found)) if read else tuple(found)


def _token(match: re.Match[str], glued: bool) -> Token:
    raw = match.group()
    start, end = match.span()
    if match.lastgroup == "word":
        return Token(raw.lower().replace("’", "'"), raw, start, end, Sort.WORD, None, glued)
    sort, value = _judge(match.lastgroup or "sign", raw)
    return Token(raw.lower(), raw, start, end, sort, value, glued)


def _judge(group: str, raw: str) -> tuple[Sort, float | None]:
    if group == "number":
        value = _number(raw)
        return (Sort.CODE, None) if value is None else (Sort.NUMBER, value)
    if group == "ordinal":
        return Sort.ORDINAL, float(raw[:-2])
    if group == "clock":
        seconds = 0
        for part in raw.split(":"):
            seconds = seconds * 60 + int(part)
        return Sort.CLOCK, float(seconds)
    if group == "duration":
        parts = _DURATION_PART.findall(raw)
        units = [unit for _, unit in parts]
        in_order = units == sorted(set(units), key="DHMS".index)
        lasted = sum(float(value) * _SECONDS[unit] for value, unit in parts)
        return (Sort.DURATION, lasted) if in_order else (Sort.CODE, None)
    if group == "fraction":
        above, below = (int(part) for part in raw.split("/"))
        if below in _DENOMINATORS and 0 < above < below:
            return Sort.FRACTION, above / below
        return Sort.CODE, None
    if group == "vulgar":
        return Sort.FRACTION, VULGAR[raw]
    return Sort.SIGN if group == "sign" else Sort.CODE, None


def _number(raw: str) -> float | None:
    """1,250 and 1 250 are twelve hundred and fifty; 2,25 is two and a quarter; 1.2.3 is none."""
    raw = _SEPARATORS.sub("", raw)
    if len(raw) > _LONGEST or not raw.isascii():
        return None
    if _GROUPED.fullmatch(raw):
        return float(raw.replace(",", ""))
    if raw.count(".") + raw.count(",") <= 1:
        value = float(raw.replace(",", "."))
        return value if value < _LARGEST else None
    return None
