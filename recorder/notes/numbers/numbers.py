"""English number words and digits to values: the number grammar.

A number is spoken in one of three ways, and this file knows them all: as a cardinal ("one hundred
and seventy-two"), in groups ("one seventy two", "seven oh three", "eleven fifty", "4 8 1 7"), and
with a decimal point or a fraction after either of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from recorder.notes.numbers.fractions import PARTS, fraction_at, part_at
from recorder.notes.numbers.number_words import (
    DIGITS,
    LARGE,
    SCALES,
    TEENS,
    TENS,
    below_hundred,
    is_ordinal,
    word_at,
)
from recorder.notes.numbers.powers import with_power_of_ten
from recorder.notes.numbers.unit_words import is_unit_word
from recorder.notes.words.lexer import Sort, Tokens

_REPEAT = {"double": 2, "triple": 3, "treble": 3}
_ARTICLES = {"a", "an"}
_POINT = {"point", "dot", "decimal"}
# "at this point two fingers": a point after one of these is a place or a moment.
_NOT_BEFORE_POINT = {"this", "that", "the", "a", "one", "some", "which", "at", "every", "each"}
# After one of these a dash that stands apart is a sign: "from - 20 to - 5 degrees".
_BEFORE_MINUS = {"at", "to", "from", "is", "was", "of", "by", "below", "above", "convert"}
# Any other word or sign begins no number.
_STARTS = {*DIGITS, *TEENS, *TENS, *_REPEAT, *_ARTICLES, "half", "quarter", "point", "minus"}
_STARTS |= {"negative", "+", "-", "−", "–"}
_MOST_DIGITS = 15


@dataclass(frozen=True)
class Number:
    """A number in tokens[start:end].

    digits: as dictated, zeros kept ("0417"); empty with a point, a fraction or a sign.
    groups: the dictated groups ("one seventy two" is 1, 72); one group for a cardinal.
    joined: digits written apart were put together ("1 72", "30-2").
    """

    value: float
    start: int
    end: int
    digits: str = ""
    groups: tuple[str, ...] = ()
    joined: bool = False


def number_at(tokens: Tokens, i: int) -> Number | None:
    """The longest number that starts at tokens[i], or None. Looks only at what it consumes."""
    token = tokens[i]
    if token.sort in (Sort.WORD, Sort.SIGN) and token.text not in _STARTS:
        return None
    spoken = token.text in {"minus", "negative"} and word_at(tokens, i - 1) not in {"or", "plus"}
    if spoken or _minus_sign(tokens, i):
        inner = _unsigned(tokens, i + 1) if i + 1 < len(tokens) else None
        return replace(inner, value=-inner.value, start=i, digits="") if inner else None
    if token.text == "+" and not token.glued and i + 1 < len(tokens) and tokens[i + 1].glued:
        inner = _unsigned(tokens, i + 1)
        return replace(inner, start=i, digits="") if inner else None
    return _unsigned(tokens, i)


def _minus_sign(tokens: Tokens, i: int) -> bool:
    """A minus is glued to its number and to nothing before it; between numbers it is a dash.

    After "at", "to" and the like it may stand apart.
    """
    if tokens[i].text not in "-−–" or i + 1 >= len(tokens):
        return False
    if not tokens[i + 1].glued:
        return not tokens[i].glued and word_at(tokens, i - 1) in _BEFORE_MINUS
    before = tokens[i - 1] if i else None
    if before and before.sort is Sort.NUMBER and tokens[i].text != "−":
        return False
    # After a value an en dash is a range: "5 mm –10 mm".
    if before and tokens[i].text == "–" and (before.text == "°" or is_unit_word(before)):
        return False
    return not tokens[i].glued or tokens[i - 1].text in "(=:"


def _unsigned(tokens: Tokens, i: int) -> Number | None:
    whole = _leading_part(tokens, i) or _cardinal(tokens, i) or _grouped(tokens, i)
    if whole and is_ordinal(tokens, whole.end):
        return None
    if whole is None:
        return _fraction_alone(tokens, i) or _point_alone(tokens, i)
    if whole.value == int(whole.value):
        whole = _with_point(tokens, whole) or _with_fraction(tokens, whole) or whole
    power = with_power_of_ten(tokens, whole.value, whole.end)
    return Number(power[0], whole.start, power[1]) if power else whole


def _cardinal(tokens: Tokens, i: int) -> Number | None:
    """As in "one hundred and seventy-two", "a thousand", "eleven hundred", "two thousand, five"."""
    total, j, scaled = 0.0, i, False
    ceiling = float("inf")
    while True:
        k = _skip_and(tokens, j) if scaled else j
        part = _hundreds(tokens, k)
        if part is None:
            break
        value, after, had_hundred = part
        scale = SCALES.get(word_at(tokens, after))
        if scale and scale < ceiling:
            total, j, ceiling, scaled = total + value * scale, after + 1, scale, True
            continue
        if (had_hundred or scaled) and value < ceiling:
            total, j, scaled = total + value, after, True
        break
    if not scaled:
        return None
    digits = f"{total:.0f}"
    return Number(total, i, j, digits, (digits,))


def _skip_and(tokens: Tokens, j: int) -> int:
    """After "thousand" a comma or an "and" may follow; both only when a number goes on."""
    k = j + 1 if word_at(tokens, j) == "," else j
    return k + 1 if word_at(tokens, k) == "and" else k


def _hundreds(tokens: Tokens, i: int) -> tuple[float, int, bool] | None:
    """A part below ten thousand: value, the place after it, and whether "hundred" was said."""
    if word_at(tokens, i) in _ARTICLES and word_at(tokens, i + 1) in LARGE:
        group: tuple[str, int] | None = ("1", i + 1)
    else:
        group = below_hundred(tokens, i)
        if group is None and i < len(tokens) and tokens[i].sort is Sort.NUMBER:
            if word_at(tokens, i + 1) in LARGE:
                return tokens[i].value or 0.0, i + 1, False
            return None
    if group is None:
        return None
    value, j = float(group[0]), group[1]
    if word_at(tokens, j) != "hundred":
        return value, j, False
    value, j = value * 100, j + 1
    k = j + 1 if word_at(tokens, j) == "and" else j
    rest = below_hundred(tokens, k)
    if rest and not _is_fraction_start(tokens, k, rest[1]):
        return value + float(rest[0]), rest[1], True
    return value, j, True


def _is_fraction_start(tokens: Tokens, i: int, after: int) -> bool:
    """Whether the group is the upper part of a fraction: "a hundred and three quarters"."""
    j = after + 1 if word_at(tokens, after) == "-" else after
    return word_at(tokens, i - 1) == "and" and word_at(tokens, j) in PARTS


def _grouped(tokens: Tokens, i: int) -> Number | None:
    """As in "one seventy two", "seven oh three", "double two one", "4 8 1 7", "1 72", "172"."""
    token = tokens[i]
    if token.sort is Sort.NUMBER and not (token.raw.isdigit() and len(token.raw) <= 2):
        digits = token.raw if token.raw.isdigit() else ""
        return Number(token.value or 0.0, i, i + 1, digits, (token.raw,))
    groups: list[str] = []
    written = 0
    j = i
    while sum(map(len, groups)) < _MOST_DIGITS - 2:
        k = j
        if groups and word_at(tokens, k) == "-" and tokens[k].glued:
            k += 1
        repeat = _REPEAT.get(word_at(tokens, k), 1)
        group = below_hundred(tokens, k + 1 if repeat > 1 else k)
        if group is None or (repeat > 1 and len(group[0]) > 1):
            break
        if groups and not _may_follow(tokens, groups, k, j):
            break
        if groups and _joins_tens(tokens, groups[-1], group[0], k, j):
            groups[-1] = str(int(groups[-1]) + int(group[0]))
        else:
            groups.append(group[0] * repeat)
        written += tokens[k].sort is Sort.NUMBER
        j = group[1]
    if not groups or (len(groups) == 1 and token.text == "o"):
        return None
    if len(groups) == 1 and token.text == "oh":
        return None
    digits = "".join(groups)
    return Number(float(digits), i, j, digits, tuple(groups), joined=written > 1)


def _may_follow(tokens: Tokens, groups: list[str], k: int, j: int) -> bool:
    """Whether the group at k goes on with the number before j.

    Written digits join only when all of them are single ("4 8 1 7"), as "1 72", or as "48 17".
    """
    here = tokens[k]
    dash = k > j
    if here.sort is Sort.NUMBER:
        before = tokens[j - 1]
        if before.sort is not Sort.NUMBER:
            return False
        if dash:
            single = len(here.raw) == 1 and all(len(group) == 1 for group in groups)
            # "6-8 weeks" is a range.
            single = single and (len(groups) > 1 or word_at(tokens, k + 1) == "-")
            return single or (len(groups) == 1 and _is_tens(groups[0]) and len(here.raw) == 1)
        if len(here.raw) == 1:
            return all(len(group) == 1 for group in groups)
        return len(groups) == 1 and (len(groups[0]) == 1 or len(here.raw) == 2)
    return tokens[j - 1].sort is not Sort.NUMBER


def _joins_tens(tokens: Tokens, last: str, group: str, k: int, j: int) -> bool:
    """A recogniser may write thirty-two as "30-2"."""
    return k > j and tokens[k].sort is Sort.NUMBER and _is_tens(last) and len(group) == 1


def _is_tens(group: str) -> bool:
    return len(group) == 2 and group[1] == "0" and group[0] not in "01"


def _with_point(tokens: Tokens, whole: Number) -> Number | None:
    """As in "two point two five", "two point oh five", "two point twenty-five", "2 point 2"."""
    if word_at(tokens, whole.end) not in _POINT:
        return None
    tail = _decimals(tokens, whole.end + 1)
    if tail is None:
        return None
    value = float(f"{whole.value:.0f}.{tail[0]}")
    scale = SCALES.get(word_at(tokens, tail[1]))
    if scale:
        return Number(value * scale, whole.start, tail[1] + 1)
    return Number(value, whole.start, tail[1], groups=whole.groups)


def _point_alone(tokens: Tokens, i: int) -> Number | None:
    start = i
    if word_at(tokens, i) in {"oh", "o"} and word_at(tokens, i + 1) == "point":
        i += 1
    if word_at(tokens, i) != "point" or (
        word_at(tokens, i - 1) in _NOT_BEFORE_POINT and start == i
    ):
        return None
    tail = _decimals(tokens, i + 1)
    return Number(float(f"0.{tail[0]}"), start, tail[1]) if tail else None


def _decimals(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The digits after a point, and the place after them."""
    digits, j = "", i
    while len(digits) < _MOST_DIGITS - 2:
        group = below_hundred(tokens, j)
        # A second group of two digits is the next number: "two point two, fifty-five degrees".
        if group is None or (digits and len(group[0]) > 1):
            break
        digits, j = digits + group[0], group[1]
        if len(group[0]) > 1:
            break
    if not digits and i < len(tokens) and tokens[i].sort is Sort.NUMBER and tokens[i].raw.isdigit():
        return tokens[i].raw, i + 1
    return (digits, j) if digits else None


def _with_fraction(tokens: Tokens, whole: Number) -> Number | None:
    """As in "two and a half", "one and three quarters", "1 1/2", "2½", "1-1/2"."""
    j = whole.end
    if word_at(tokens, j) == "-" and j + 1 < len(tokens) and tokens[j + 1].sort is Sort.FRACTION:
        j += 1
    if j < len(tokens) and tokens[j].sort is Sort.FRACTION:
        return Number(whole.value + (tokens[j].value or 0.0), whole.start, j + 1)
    # "Two-and-a-half"
    j += word_at(tokens, j) == "-" and word_at(tokens, j + 1) == "and"
    if word_at(tokens, j) != "and":
        return None
    part = fraction_at(tokens, j + 1 + (word_at(tokens, j + 1) == "-"))
    return Number(whole.value + part[0], whole.start, part[1]) if part else None


def _fraction_alone(tokens: Tokens, i: int) -> Number | None:
    part = part_at(tokens, i)
    return Number(part[0], i, part[1]) if part else None


def _leading_part(tokens: Tokens, i: int) -> Number | None:
    """As in "three-eighths", "one third": a fraction that starts with a number word."""
    token = tokens[i]
    if token.text in DIGITS or token.text in TEENS or token.sort is Sort.NUMBER:
        part = part_at(tokens, i)
        return Number(part[0], i, part[1]) if part else None
    return None
