"""German number words to values, one word at a time: "hundertfünfundsiebzig", "zweieinhalb".

German says a whole number in one word, the unit before the ten, and a half behind "ein".
"""

from __future__ import annotations

import functools
import re

_ONES = {
    **{"eins": 1, "ein": 1, "zwei": 2, "zwo": 2, "drei": 3, "vier": 4, "fünf": 5},
    **{"sechs": 6, "sieben": 7, "acht": 8, "neun": 9},
}
_TEENS = {
    **{"zehn": 10, "elf": 11, "zwölf": 12, "dreizehn": 13, "vierzehn": 14, "fünfzehn": 15},
    **{"sechzehn": 16, "siebzehn": 17, "achtzehn": 18, "neunzehn": 19},
}
_TENS = {
    **{"zwanzig": 20, "dreissig": 30, "vierzig": 40, "fünfzig": 50},
    **{"sechzig": 60, "siebzig": 70, "achtzig": 80, "neunzig": 90},
}
_PARTS = {
    **{"halb": 2, "drittel": 3, "viertel": 4, "fünftel": 5, "sechstel": 6, "achtel": 8},
    **{"zehntel": 10, "zwölftel": 12, "sechzehntel": 16, "hundertstel": 100, "tausendstel": 1000},
}
# What "ste" and "te" leave of erste, dritte, sechste, siebte and achte.
_STEMS = {"er": 1, "drit": 3, "sech": 6, "sieb": 7, "ach": 8}
_LONGEST_WORD = 100  # letters; no number that a job has is longer
_KNOWN = 4096  # words whose value is remembered


def _any_of(words: dict[str, int]) -> str:
    return "|".join(sorted(words, key=len, reverse=True))


_BELOW_100 = f"(?:(?:{_any_of(_ONES)})und(?:{_any_of(_TENS)})|{_any_of(_TEENS | _TENS | _ONES)})"
_BELOW_10000 = f"(?:(?:{_BELOW_100})?hundert(?:(?:und)?{_BELOW_100})?|{_BELOW_100})"
_WHOLE = re.compile(
    f"(?:(?P<millions>{_BELOW_10000})million(?:en)?(?:und)?)?"
    f"(?:(?P<thousands>{_BELOW_10000})?(?P<scale>tausend)(?:und)?)?(?P<rest>{_BELOW_10000})?"
)
_HUNDREDS = re.compile(
    f"(?:(?P<hundreds>{_BELOW_100})?(?P<scale>hundert)(?:und)?)?(?P<rest>{_BELOW_100})?"
)
_TWO_DIGITS = re.compile(f"(?:(?P<one>{_any_of(_ONES)})und)?(?P<ten>{_any_of(_TENS)})")
_ENDING = "(?:e[nmrs]?)?"
_PROPER = re.compile(f"(?P<above>{_BELOW_100})?(?P<part>{_any_of(_PARTS)}){_ENDING}")
_MIXED = re.compile(
    f"(?:(?P<whole>{_BELOW_10000})(?P<above>ein|drei)|ander)t?(?P<part>halb|viertel){_ENDING}"
)
_ORDINAL = re.compile("(?P<stem>.+?)s?te[nmrs]?")


@functools.lru_cache(maxsize=_KNOWN)
def whole_number(word: str) -> int | None:
    """The value of a whole number as one word; None for any other word."""
    if word == "null":
        return 0
    match = _WHOLE.fullmatch(_respelt(word)) if 0 < len(word) <= _LONGEST_WORD else None
    if match is None:
        return None
    millions = _below_10000(match["millions"]) if match["millions"] else 0
    return 1_000_000 * millions + _scaled(match["thousands"], match["scale"], match["rest"], 1000)


def _scaled(above: str | None, scale: str | None, rest: str | None, factor: int) -> int:
    value = factor * (_below_10000(above) if above else 1) if scale else 0
    return value + (_below_10000(rest) if rest else 0)


def _below_10000(word: str) -> int:
    match = _HUNDREDS.fullmatch(word)
    if match and match["scale"]:
        return _scaled(match["hundreds"], match["scale"], match["rest"], 100)
    match = _TWO_DIGITS.fullmatch(word)
    if match:
        return _TENS[match["ten"]] + (_ONES[match["one"]] if match["one"] else 0)
    return (_TEENS | _ONES)[word]


@functools.lru_cache(maxsize=_KNOWN)
def ordinal_number(word: str) -> int | None:
    """As in "zweite", "zweiundzwanzigsten"."""
    match = _ORDINAL.fullmatch(word) if len(word) <= _LONGEST_WORD else None
    return (_STEMS.get(match["stem"]) or whole_number(match["stem"])) if match else None


@functools.lru_cache(maxsize=_KNOWN)
def proper_fraction(word: str) -> tuple[int, int] | None:
    """The two numbers of "halbe", "dreiviertel", "fünfachtel"; the upper one is 0 when unsaid."""
    match = _PROPER.fullmatch(_respelt(word)) if 0 < len(word) <= _LONGEST_WORD else None
    if match is None:
        return None
    above, below = _below_10000(match["above"]) if match["above"] else 0, _PARTS[match["part"]]
    return (above, below) if above < below else None


@functools.lru_cache(maxsize=_KNOWN)
def mixed_number(word: str) -> float | None:
    """As in "anderthalb", "zweieinhalb", "dreieinviertel"."""
    match = _MIXED.fullmatch(_respelt(word)) if 0 < len(word) <= _LONGEST_WORD else None
    if match is None:
        return None
    whole = whole_number(match["whole"] or "eins") or 0
    return whole + _ONES[match["above"] or "ein"] / _PARTS[match["part"]]


def _respelt(word: str) -> str:
    """In one spelling: "dreißig" as "dreissig", "fuenf" as "fünf"."""
    return word.replace("ß", "ss").replace("fuenf", "fünf").replace("zwoelf", "zwölf")
