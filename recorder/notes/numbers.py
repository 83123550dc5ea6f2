"""English number words and digits to values: the number grammar.

A number is spoken in one of three ways, and this file knows them all: as a cardinal ("one hundred
and seventy-two"), in groups ("one seventy two", "seven oh three", "eleven fifty", "4 8 1 7"), and
with a decimal point or a fraction after either of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from recorder.notes.lexer import Sort, Token, Tokens

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
_SCALES = {"thousand": 1_000.0, "million": 1_000_000.0}
_REPEAT = {"double": 2, "triple": 3, "treble": 3}
_FRACTIONS = {
    **{"half": 2, "halves": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "sixth": 6},
    **{"eighth": 8, "tenth": 10, "twelfth": 12, "sixteenth": 16, "hundredth": 100},
    "thousandth": 1000,
}
_PARTS = _FRACTIONS | {f"{name}s": below for name, below in _FRACTIONS.items() if name[-1] != "s"}
_ARTICLES = {"a", "an"}
_POINT = {"point", "dot", "decimal"}
# "at this point two fingers": a point after one of these is a place or a moment.
_NOT_BEFORE_POINT = {"this", "that", "the", "a", "one", "some", "which", "at", "every", "each"}
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
    spoken = token.text in {"minus", "negative"} and _word(tokens, i - 1) not in {"or", "plus"}
    if spoken or _minus_sign(tokens, i):
        inner = _unsigned(tokens, i + 1) if i + 1 < len(tokens) else None
        return replace(inner, value=-inner.value, start=i, digits="") if inner else None
    return _unsigned(tokens, i)


def _minus_sign(tokens: Tokens, i: int) -> bool:
    """A minus is glued to its number and to nothing before it; between numbers it is a dash."""
    if tokens[i].text not in "-−" or i + 1 >= len(tokens) or not tokens[i + 1].glued:
        return False
    return not tokens[i].glued or tokens[i - 1].text in "(=:"


def _unsigned(tokens: Tokens, i: int) -> Number | None:
    whole = _leading_part(tokens, i) or _cardinal(tokens, i) or _grouped(tokens, i)
    if whole is None:
        return _fraction_alone(tokens, i) or _point_alone(tokens, i)
    if whole.value == int(whole.value):
        return _with_point(tokens, whole) or _with_fraction(tokens, whole) or whole
    return whole


def _word(tokens: Tokens, i: int) -> str:
    return tokens[i].text if 0 <= i < len(tokens) else ""


def _below_hundred(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """One group of at most two digits as a string, and the place after it."""
    if i >= len(tokens):
        return None
    token = tokens[i]
    if token.text in TEENS:
        return str(TEENS[token.text]), i + 1
    if token.text in TENS:
        j = i + 2 if _word(tokens, i + 1) == "-" and tokens[i + 1].glued else i + 1
        unit = DIGITS.get(_word(tokens, j), 0)
        if unit and _word(tokens, j) not in {"oh", "o"}:
            return str(TENS[token.text] + unit), j + 1
        return str(TENS[token.text]), i + 1
    if token.text in DIGITS:
        return str(DIGITS[token.text]), i + 1
    if token.sort is Sort.NUMBER and token.raw.isdigit() and len(token.raw) <= 2:
        return token.raw, i + 1
    return None


def _cardinal(tokens: Tokens, i: int) -> Number | None:
    """"One hundred and seventy-two", "a thousand", "eleven hundred", "two thousand, five"."""
    total, j, scaled = 0.0, i, False
    ceiling = float("inf")
    while True:
        k = _skip_and(tokens, j) if scaled else j
        part = _hundreds(tokens, k)
        if part is None:
            break
        value, after, had_hundred = part
        scale = _SCALES.get(_word(tokens, after))
        if scale and scale < ceiling:
            total, j, ceiling, scaled = total + value * scale, after + 1, scale, True
            continue
        if had_hundred or scaled:
            if value < ceiling:
                total, j, scaled = total + value, after, True
        break
    if not scaled:
        return None
    digits = f"{total:.0f}"
    return Number(total, i, j, digits, (digits,))


def _skip_and(tokens: Tokens, j: int) -> int:
    """After "thousand" a comma or an "and" may follow; both only when a number goes on."""
    k = j + 1 if _word(tokens, j) == "," else j
    return k + 1 if _word(tokens, k) == "and" else k


def _hundreds(tokens: Tokens, i: int) -> tuple[float, int, bool] | None:
    """A part below ten thousand: value, the place after it, and whether "hundred" was said."""
    if _word(tokens, i) in _ARTICLES and _word(tokens, i + 1) in {"hundred", "thousand", "million"}:
        group: tuple[str, int] | None = ("1", i + 1)
    else:
        group = _below_hundred(tokens, i)
        if group is None and i < len(tokens) and tokens[i].sort is Sort.NUMBER:
            if _word(tokens, i + 1) in {"hundred", "thousand", "million"}:
                return tokens[i].value or 0.0, i + 1, False
            return None
    if group is None:
        return None
    value, j = float(group[0]), group[1]
    if _word(tokens, j) != "hundred":
        return value, j, False
    value, j = value * 100, j + 1
    k = j + 1 if _word(tokens, j) == "and" else j
    rest = _below_hundred(tokens, k)
    if rest and not _is_fraction_start(tokens, k, rest[1]):
        return value + float(rest[0]), rest[1], True
    return value, j, True


def _is_fraction_start(tokens: Tokens, i: int, after: int) -> bool:
    """Whether the group is the upper part of a fraction: "a hundred and three quarters"."""
    j = after + 1 if _word(tokens, after) == "-" else after
    return _word(tokens, i - 1) == "and" and _word(tokens, j) in _PARTS


def _grouped(tokens: Tokens, i: int) -> Number | None:
    """"One seventy two", "seven oh three", "double two one", "4 8 1 7", "1 72", "30-2", "172"."""
    token = tokens[i]
    if token.sort is Sort.NUMBER and not (token.raw.isdigit() and len(token.raw) <= 2):
        digits = token.raw if token.raw.isdigit() else ""
        return Number(token.value or 0.0, i, i + 1, digits, (token.raw,))
    groups: list[str] = []
    written = 0
    j = i
    while sum(map(len, groups)) < _MOST_DIGITS - 2:
        k = j
        if groups and _word(tokens, k) == "-" and tokens[k].glued:
            k += 1
        repeat = _REPEAT.get(_word(tokens, k), 1)
        group = _below_hundred(tokens, k + 1 if repeat > 1 else k)
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
            return single or (len(groups) == 1 and groups[0][-1] == "0" and len(here.raw) == 1)
        if len(here.raw) == 1:
            return all(len(group) == 1 for group in groups)
        return len(groups) == 1 and (len(groups[0]) == 1 or len(here.raw) == 2)
    return tokens[j - 1].sort is not Sort.NUMBER


def _joins_tens(tokens: Tokens, last: str, group: str, k: int, j: int) -> bool:
    """"30-2" is how a recogniser may write thirty-two."""
    tens = len(last) == 2 and last[1] == "0" and last[0] != "0"
    return k > j and tokens[k].sort is Sort.NUMBER and tens and len(group) == 1


def _with_point(tokens: Tokens, whole: Number) -> Number | None:
    """"Two point two five", "two point oh five", "two point twenty-five", "2 point 2"."""
    if _word(tokens, whole.end) not in _POINT:
        return None
    tail = _decimals(tokens, whole.end + 1)
    if tail is None:
        return None
    value = float(f"{whole.value:.0f}.{tail[0]}")
    return Number(value, whole.start, tail[1], groups=whole.groups)


def _point_alone(tokens: Tokens, i: int) -> Number | None:
    start = i
    if _word(tokens, i) in {"oh", "o"} and _word(tokens, i + 1) == "point":
        i += 1
    if _word(tokens, i) != "point" or (_word(tokens, i - 1) in _NOT_BEFORE_POINT and start == i):
        return None
    tail = _decimals(tokens, i + 1)
    return Number(float(f"0.{tail[0]}"), start, tail[1]) if tail else None


def _decimals(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The digits after a point, and the place after them."""
    digits, j = "", i
    while len(digits) < _MOST_DIGITS - 2:
        group = _below_hundred(tokens, j)
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
    """"Two and a half", "one and three quarters", "1 1/2", "2½", "1-1/2"."""
    j = whole.end
    if _word(tokens, j) == "-" and j + 1 < len(tokens) and tokens[j + 1].sort is Sort.FRACTION:
        j += 1
    if j < len(tokens) and tokens[j].sort is Sort.FRACTION:
        return Number(whole.value + (tokens[j].value or 0.0), whole.start, j + 1)
    if _word(tokens, j) != "and":
        return None
    part = fraction_at(tokens, j + 1)
    return Number(whole.value + part[0], whole.start, part[1]) if part else None


def _fraction_alone(tokens: Tokens, i: int) -> Number | None:
    part = fraction_at(tokens, i)
    return Number(part[0], i, part[1]) if part else None


def _leading_part(tokens: Tokens, i: int) -> Number | None:
    """"Three-eighths", "one third": a fraction that starts with a number word."""
    token = tokens[i]
    if token.text in DIGITS or token.text in TEENS or token.sort is Sort.NUMBER:
        part = fraction_at(tokens, i)
        return Number(part[0], i, part[1]) if part else None
    return None


def fraction_at(tokens: Tokens, i: int) -> tuple[float, int] | None:
    """A proper fraction at tokens[i] and the place after it: "a half", "half a", "3/8"."""
    if i >= len(tokens):
        return None
    token = tokens[i]
    if token.sort is Sort.FRACTION:
        return token.value or 0.0, i + 1
    if token.text == "half":
        return 0.5, i + 1
    if token.text in _ARTICLES:
        below = _PARTS.get(_word(tokens, i + 1))
        return (1 / below, i + 2) if below else None
    if token.text == "quarter":
        return 0.25, i + 1
    group = _below_hundred(tokens, i)
    if group is None or group[0] == "0":
        return None
    j = group[1] + 1 if _word(tokens, group[1]) == "-" else group[1]
    below = _PARTS.get(_word(tokens, j))
    plural = _word(tokens, j).endswith("s")
    if below and plural == (group[0] != "1"):
        return float(group[0]) / below, j + 1
    return None


def is_number_word(token: Token) -> bool:
    return (
        token.sort in (Sort.NUMBER, Sort.FRACTION)
        or token.text in DIGITS
        or token.text in TEENS
        or token.text in TENS
        or token.text in {"hundred", "thousand", "half", "quarter", "point", "double"}
    )
