"""Numbers with their units in tokens: compounds as one, ranges as several, bare numbers kept.

An amount without a unit is not a quantity, but an answer or a trade word may supply its unit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from recorder.model.units import UNITS
from recorder.notes.fractions import fraction_at
from recorder.notes.lexer import Sort, Tokens
from recorder.notes.number_words import word_at
from recorder.notes.numbers import Number, number_at
from recorder.notes.unit_words import is_unit_word, unit_at

# Larger and smaller unit that are said as one quantity, and how many of the smaller make a larger.
_COMPOUNDS = {
    ("foot", "inch"): 12,
    ("hour", "min"): 60,
    ("min", "s"): 60,
    ("hour", "s"): 3600,
    ("m", "cm"): 100,
    ("m", "mm"): 1000,
    ("cm", "mm"): 10,
}
# "Five foot two", "twelve minutes thirty": the smaller unit may stay unsaid.
_UNSAID = {"foot": "inch", "min": "s", "hour": "min", "m": "cm"}
_SUMS = {"less", "plus", "short of"}
_ARTICLE_UNITS = {"hour", "min", "inch", "m", "mm", "foot"}
_RANGE_WORDS = {"/", "to", "or", "and", "-", "–", "—", "till", "by", "x", "×"}
_TOLERANCES = {"±", "+/-", "plusminus", "plusorminus"}
_TWO_ENDS = {"to", "or", "-", "–", "—", "till"}
_HUNDREDS = {100.0 * n for n in range(1, 10)}


@dataclass(frozen=True)
class Amount:
    """A number in tokens[start:end] with its unit, or None when none was said.

    number: of its first part, for what it looked like; its value is ``value`` unless compound.
    borrowed: its unit was said after a later number ("170 to 175 degrees").
    ranged: it is one end of a range. clock: written as 3:30, then in seconds or minutes.
    parts: the hundreds and the rest, when they were written apart ("100, and 87 degrees").
    """

    value: float
    unit: str | None
    start: int
    end: int
    number: Number
    borrowed: bool = False
    ranged: bool = False
    clock: bool = False
    parts: tuple[float, ...] = ()


def amounts_of(tokens: Tokens, heard: bool = False) -> list[Amount]:
    """All amounts from left to right.

    heard: a recogniser wrote the text, and may have split one number in two ("100, and 87").
    """
    found: list[Amount] = []
    i = 0
    while i < len(tokens):
        amount = _amount_at(tokens, i)
        if heard and amount is not None and amount.unit is None and not amount.clock:
            amount = _split_hundred(tokens, amount.number) or amount
        if amount is None:
            i += 1
            continue
        found.append(amount)
        i = amount.end
    return _ranges(tokens, _combined(tokens, found))


def _combined(tokens: Tokens, found: list[Amount]) -> list[Amount]:
    """As in "three minutes less ten seconds", "ten seconds short of three minutes": one amount."""
    amounts: list[Amount] = []
    for amount in found:
        whole = _sum(tokens, amounts[-1], amount) if amounts else None
        if whole:
            amounts[-1] = whole
        else:
            amounts.append(amount)
    return amounts


def _sum(tokens: Tokens, left: Amount, right: Amount) -> Amount | None:
    between = " ".join(token.text for token in tokens[left.end : right.start])
    minus = not between and tokens[right.start].text == "minus"
    large, small = (right, left) if between == "short of" else (left, right)
    factor = _COMPOUNDS.get((large.unit or "", small.unit or ""))
    if factor is None or not (minus or between in _SUMS):
        return None
    sign = -1 if between in {"less", "short of"} else 1
    value = large.value * factor + sign * small.value
    number = Number(value, left.start, right.end)
    return Amount(value, small.unit, left.start, right.end, number)


def _amount_at(tokens: Tokens, i: int) -> Amount | None:
    token = tokens[i]
    if token.sort is Sort.CLOCK:
        return _clock(tokens, i)
    if token.text in {"a", "an"}:
        article = _with_article(tokens, i)
        if article:
            return article
    number = number_at(tokens, i)
    if number is None:
        return None
    unit = unit_at(tokens, number.end)
    if unit is None and number.value < 1:
        unit = _of_a(tokens, number.end)
    power = i > 0 and tokens[i - 1].text == "^"
    if unit is None or power or _is_rate(tokens, unit[1]):
        return Amount(number.value, None, i, number.end, number)
    first = Amount(number.value, unit[0], i, unit[1], number)
    return _compound(tokens, first) or first


def _split_hundred(tokens: Tokens, number: Number) -> Amount | None:
    """As in "100, and 87", "100 87", "1,00 and 87": how a recogniser may write 187.

    Only before one unit for both, or with "and" between them.
    """
    hundreds = 100 * number.value if tokens[number.start].raw[1:] == ",00" else number.value
    if hundreds not in _HUNDREDS or _after_between(tokens, number.start):
        return None
    j = number.end
    comma = word_at(tokens, j) == ","
    j += comma
    joined = word_at(tokens, j) == "and"
    j += joined
    rest = number_at(tokens, j) if j < len(tokens) else None
    if rest is None or not 0 < rest.value < 100 or rest.value != int(rest.value):
        return None
    unit = unit_at(tokens, rest.end)
    if (unit is None and not joined) or (comma and not joined and rest.value < 10):
        return None
    value = hundreds + rest.value
    digits = f"{value:.0f}"
    whole = Number(value, number.start, rest.end, digits, (digits,))
    name, end = unit or (None, rest.end)
    return Amount(value, name, number.start, end, whole, parts=(hundreds, rest.value))


def _is_rate(tokens: Tokens, i: int) -> bool:
    """As in "10 mm/s", "five metres per minute": a speed and not a length."""
    if i + 1 >= len(tokens) or tokens[i].text not in {"/", "per"}:
        return False
    return is_unit_word(tokens[i + 1]) or len(tokens[i + 1].text) == 1


def _clock(tokens: Tokens, i: int) -> Amount:
    """3:30 is minutes and seconds; with a unit after it ("3:30 h") that unit's sixtieths."""
    value = tokens[i].value or 0.0
    unit = unit_at(tokens, i + 1)
    number = Number(value, i, i + 1)
    if unit and unit[0] in ("min", "hour") and tokens[i].raw.count(":") == 1:
        return Amount(value / 60, unit[0], i, unit[1], number, clock=True)
    return Amount(value, None, i, i + 1, number, clock=True)


def _with_article(tokens: Tokens, i: int) -> Amount | None:
    """As in "an hour and a half", "an inch and a quarter", "a minute", "a couple of minutes"."""
    if word_at(tokens, i + 1) == "couple":
        pair = unit_at(tokens, i + 3 if word_at(tokens, i + 2) == "of" else i + 2)
        return Amount(2.0, pair[0], i, pair[1], Number(2.0, i, i + 2)) if pair else None
    unit = unit_at(tokens, i + 1)
    if unit is None or unit[0] not in _ARTICLE_UNITS or tokens[i + 1].sort is not Sort.WORD:
        return None
    first = Amount(1.0, unit[0], i, unit[1], Number(1.0, i, i + 1))
    return _compound(tokens, first) or first


def _of_a(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The unit after "half a", "three quarters of an", "quarter of a"."""
    j = i + 1 if i < len(tokens) and tokens[i].text == "of" else i
    if j < len(tokens) and tokens[j].text in {"a", "an"}:
        return unit_at(tokens, j + 1)
    return None


def _compound(tokens: Tokens, first: Amount) -> Amount | None:
    """The quantity that goes on after its first unit, or None when it does not."""
    j = first.end
    joined = j < len(tokens) and tokens[j].text in {"and", ","}
    hyphen = j < len(tokens) and tokens[j].text == "-" and tokens[j].glued
    k = j + 1 if joined or hyphen else j
    if k >= len(tokens):
        return None
    whole = first.value == int(first.value)
    if joined and tokens[j].text == "and" and whole:
        part = fraction_at(tokens, k)
        if part and unit_at(tokens, part[1]) is None and _of_a(tokens, part[1]) is None:
            return replace(first, value=first.value + part[0], end=part[1])
    number = number_at(tokens, k)
    if number is None or number.value < 0 or not whole:
        return None
    unit = unit_at(tokens, number.end)
    if unit is None:
        return None if joined else _unsaid(tokens, first, number)
    # "1h30m", "3m30s": then the m is of minutes.
    if (first.unit, unit[0]) == ("hour", "m"):
        unit = ("min", unit[1])
    elif (first.unit, unit[0]) == ("m", "s"):
        first = replace(first, unit="min")
    factor = _COMPOUNDS.get((first.unit or "", unit[0]))
    if factor is None or number.value >= factor:
        return None
    sum_ = Amount(first.value * factor + number.value, unit[0], first.start, unit[1], first.number)
    return _compound(tokens, sum_) or sum_ if unit[0] == "min" else sum_


def _unsaid(tokens: Tokens, first: Amount, number: Number) -> Amount | None:
    """As in "five foot two"; not "three minutes 172 degrees", nor "three minutes two fingers"."""
    smaller = _UNSAID.get(first.unit or "")
    if smaller is None or number.value != int(number.value) or number.value >= 60:
        return None
    factor = _COMPOUNDS[(first.unit or "", smaller)]
    after = tokens[number.end] if number.end < len(tokens) else None
    closed = after is None or after.text in {
        ".",
        ",",
        ";",
        "!",
        "and",
        "on",
        "wide",
        "long",
        "tall",
    }
    spoken = first.unit == "foot" or (number.value >= 10 and closed)
    if number.value >= factor or not spoken:
        return None
    value = first.value * factor + number.value
    return Amount(value, smaller, first.start, number.end, first.number)


def _ranges(tokens: Tokens, amounts: list[Amount]) -> list[Amount]:
    """Mark the ends of ranges, and lend a unit backwards to a number that has none."""
    for i in range(len(amounts) - 2, -1, -1):
        left, right = amounts[i], amounts[i + 1]
        between = [token.text for token in tokens[left.end : right.start]]
        if "".join(between) in _TOLERANCES and left.unit is None and right.unit is not None:
            amounts[i] = replace(left, unit=right.unit, borrowed=True)
            continue
        if len(between) != 1 or between[0] not in _RANGE_WORDS or left.clock or right.clock:
            continue
        if between[0] == "and" and not _after_between(tokens, left.start):
            if left.unit is None and right.unit is not None:
                amounts[i] = replace(left, unit=right.unit, borrowed=True)
            continue
        same = left.unit and right.unit and _dimension(left.unit) == _dimension(right.unit)
        ends = between[0] in _TWO_ENDS or between[0] == "and"
        if left.unit is None and right.unit is not None:
            amounts[i] = replace(left, unit=right.unit, borrowed=True, ranged=ends)
            amounts[i + 1] = replace(right, ranged=ends)
        elif ends and (same or (left.unit is None and right.unit is None)):
            amounts[i], amounts[i + 1] = replace(left, ranged=True), replace(right, ranged=True)
    return amounts


def _after_between(tokens: Tokens, i: int) -> bool:
    return i > 0 and tokens[i - 1].text in {"between", "from"}


def _dimension(unit: str) -> str:
    return UNITS[unit].dimension
