"""Numbers with their units in tokens: compounds as one, ranges as several, bare numbers kept.

An amount without a unit is not a quantity, but an answer or a trade word may supply its unit.
"""

from __future__ import annotations

from dataclasses import replace

from recorder.model.units import UNITS
from recorder.notes.numbers.amount import Amount
from recorder.notes.numbers.compounds import compound, how_many, of_a
from recorder.notes.numbers.fractions import fraction_at
from recorder.notes.numbers.number_words import word_at
from recorder.notes.numbers.numbers import Number, number_at
from recorder.notes.numbers.unit_words import is_unit_word, unit_at
from recorder.notes.words.lexer import Sort, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, words

__all__ = ["Amount", "amounts_of"]

_SUMS = {"less", "plus", "short of"}
# "A minute", "an hour" and "a mile" are one; "a week" is only beside one of these.
_BEFORE_ONE = {"in", "for", "within", "after", "about", "around", "over", "under", "than", "nearly"}
_BEFORE_ONE |= {"almost", "only", "just", "took", "takes", "take", "lasts", "lasted", "by", "of"}
_BEFORE_ONE |= {"to", "least", "most", "last", "waited", "need", "needs", "spent", "every"}
_AFTER_ONE = {"ago", "later", "earlier", "away", "long", "wide", "deep"}
# Before an article: then it is a rate, as in "twice a day".
_RATES = {"once", "twice", "times"}
_RANGE_WORDS = {"/", "to", "or", "and", "-", "–", "—", "till", "by", "x", "×"}
_TEMPERATURES = {"deg", "degC", "degF"}
_TOLERANCES = {"±", "+/-", "plusminus", "plusorminus"}
_TWO_ENDS = {"to", "or", "-", "–", "—", "till"}
_HUNDREDS = {100.0 * n for n in range(1, 10)}
_THOUSANDS = {1000.0 * n for n in range(1, 10)}


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
    factor = how_many(large.unit, small.unit)
    if not factor or not (minus or between in _SUMS):
        return None
    sign = -1 if between in {"less", "short of"} else 1
    value = large.value * factor + sign * small.value
    number = Number(value, left.start, right.end)
    return Amount(value, small.unit, left.start, right.end, number)


def _amount_at(tokens: Tokens, i: int) -> Amount | None:
    token = tokens[i]
    if token.sort is Sort.CLOCK:
        return _clock(tokens, i)
    if token.sort is Sort.DURATION:
        value = token.value or 0.0
        return Amount(value, "s", i, i + 1, Number(value, i, i + 1))
    counted = _counted(tokens, i) if token.sort is Sort.WORD else None
    if counted:
        return counted
    number = number_at(tokens, i)
    if number is None:
        return None
    number = _in_thousands(tokens, number) or number
    unit = unit_at(tokens, number.end)
    if unit is None and number.value < 1:
        unit = of_a(tokens, number.end)
    if unit is None and word_at(tokens, number.end) in words("counts", "more"):
        unit = unit_at(tokens, number.end + 1)
    power = i > 0 and tokens[i - 1].text == "^"
    if unit is None or power or _is_rate(tokens, *unit):
        return Amount(number.value, None, i, number.end, number)
    first = Amount(number.value, unit[0], i, unit[1], number)
    return _below_zero(tokens, first) or compound(tokens, first) or first


def _in_thousands(tokens: Tokens, number: Number) -> Number | None:
    """As in "5k miles"; "300 K" alone is kelvin."""
    k = number.end
    if k >= len(tokens) or tokens[k].text != "k" or not tokens[k].glued:
        return None
    if tokens[k - 1].sort is not Sort.NUMBER or unit_at(tokens, k + 1) is None:
        return None
    return Number(number.value * 1000, number.start, k + 1)


def _below_zero(tokens: Tokens, amount: Amount) -> Amount | None:
    """As in "five degrees below zero"."""
    below = word_at(tokens, amount.end) == "below" and word_at(tokens, amount.end + 1) == "zero"
    if not below or amount.unit not in _TEMPERATURES or amount.value <= 0:
        return None
    return replace(amount, value=-amount.value, end=amount.end + 2)


def _split_hundred(tokens: Tokens, number: Number) -> Amount | None:
    """As in "100, and 87", "100 87", "1,00 and 87": how a recogniser may write 187.

    Only before one unit for both, or with "and" between them; "1,000 and 8 mm" with both.
    """
    hundreds = 100 * number.value if tokens[number.start].raw[1:] == ",00" else number.value
    if hundreds not in _HUNDREDS | _THOUSANDS or _after_between(tokens, number.start):
        return None
    j = number.end
    comma = word_at(tokens, j) == ","
    j += comma
    joined = word_at(tokens, j) == "and"
    j += joined
    rest = number_at(tokens, j) if j < len(tokens) else None
    thousands = hundreds in _THOUSANDS
    if rest is None or not 0 < rest.value < (1000 if thousands else 100) or rest.value % 1:
        return None
    unit = unit_at(tokens, rest.end)
    if (unit is None and (thousands or not joined)) or (thousands and not joined):
        return None
    if comma and not joined and rest.value < 10:
        return None
    value = hundreds + rest.value
    digits = f"{value:.0f}"
    whole = Number(value, number.start, rest.end, digits, (digits,))
    name, end = unit or (None, rest.end)
    return Amount(value, name, number.start, end, whole, parts=(hundreds, rest.value))


def _is_rate(tokens: Tokens, unit: str, i: int) -> bool:
    """As in "10 mm/s", "five metres per minute", "40 miles an hour": a speed and not a length."""
    if i + 1 >= len(tokens) or UNITS[unit].dimension == "time":
        return False
    if tokens[i].text in {"a", "an"}:
        per = unit_at(tokens, i + 1)
        return per is not None and (_dimension(unit), _dimension(per[0])) == ("length", "time")
    if tokens[i].text not in {"/", "per"}:
        return False
    # "m/s²", "km/s2"
    below = tokens[i + 1].text.rstrip("²³23")
    return is_unit_word(tokens[i + 1]) or len(below) == 1


def _clock(tokens: Tokens, i: int) -> Amount:
    """3:30 is minutes and seconds; with a unit after it ("3:30 hours") that unit's sixtieths."""
    value = tokens[i].value or 0.0
    unit = unit_at(tokens, i + 1)
    number = Number(value, i, i + 1)
    if unit and unit[0] in ("min", "hour") and tokens[i].raw.count(":") == 1:
        return Amount(value / 60, unit[0], i, unit[1], number, clock=True)
    if unit and unit[0] == "hour":
        return Amount(value / 3600, "hour", i, unit[1], number, clock=True)
    return Amount(value, None, i, i + 1, number, clock=True)


def _counted(tokens: Tokens, i: int) -> Amount | None:
    """As in "an hour and a half", "an inch and a quarter", "a couple of minutes", "all day"."""
    text = tokens[i].text
    hit = _counts().at(tokens, i)
    if hit:
        unit = unit_at(tokens, hit.end)
        plural = unit is not None and tokens[unit[1] - 1].text.endswith("s")
        if unit and plural == (hit.meanings[0] == 2):
            return Amount(hit.meanings[0], unit[0], i, unit[1], Number(hit.meanings[0], i, hit.end))
    if text not in {"a", "an"}:
        return _and_a_half(tokens, i)
    unit = unit_at(tokens, i + 1)
    if unit is None or tokens[i + 1].sort is not Sort.WORD or _follows_a_count(tokens, i):
        return None
    first = Amount(1.0, unit[0], i, unit[1], Number(1.0, i, i + 1))
    whole = compound(tokens, first)
    if whole or unit[0] in {"hour", "min"} or UNITS[unit[0]].dimension == "length":
        return whole or first
    beside = word_at(tokens, i - 1) in _BEFORE_ONE or word_at(tokens, unit[1]) in _AFTER_ONE
    # "In a second" is soon.
    return first if beside and unit[0] != "s" else None


def _and_a_half(tokens: Tokens, i: int) -> Amount | None:
    """As in "about hour and a half": one and a half of the unit at tokens[i]."""
    if "and" not in (word_at(tokens, i + 1), word_at(tokens, i + 2)) or tokens[i].text[-1] == "s":
        return None
    unit = unit_at(tokens, i)
    if unit is None or unit[0] == "s" or word_at(tokens, unit[1]) != "and":
        return None
    part = fraction_at(tokens, unit[1] + 1)
    if part is None or unit_at(tokens, part[1]) or of_a(tokens, part[1]):
        return None
    return Amount(1 + part[0], unit[0], i, part[1], Number(1.0, i, i))


def _follows_a_count(tokens: Tokens, i: int) -> bool:
    """As in "20 dollars an hour", "twice a day"."""
    before = tokens[max(0, i - 2) : i]
    if any(token.sort is Sort.NUMBER for token in before) or word_at(tokens, i - 1) in _RATES:
        return True
    if before and before[0].text == "fraction":
        return True
    return bool(before) and is_unit_word(before[-1]) and before[-1].text not in _BEFORE_ONE


@kept
def _counts() -> Phrases[float]:
    """Words that count the unit after them, and how many they make of it."""
    entries = [("a couple of", 2.0), ("a couple", 2.0)]
    entries += [(phrase, 1.0) for phrase in words("counts", "one")]
    return Phrases(entries + [(phrase, 2.0) for phrase in words("counts", "two")])


def _ranges(tokens: Tokens, amounts: list[Amount]) -> list[Amount]:
    """Mark the ends of ranges, and lend a unit backwards to a number that has none."""
    for i in range(len(amounts) - 2, -1, -1):
        left, right = amounts[i], amounts[i + 1]
        between = [token.text for token in tokens[left.end : right.start]]
        if "".join(between) in _TOLERANCES and left.unit is None and right.unit is not None:
            amounts[i] = replace(left, unit=right.unit, borrowed=True)
            continue
        # "8- to 16-metre", "minus ten to plus five"
        between = [text for text in between if text not in {"-", "plus"}] or between
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
