"""Units as people say and write them, after a number."""

from __future__ import annotations

from collections.abc import Iterator

from recorder.notes.words.lexer import Sort, Token, Tokens
from recorder.notes.words.speaking import kept
from recorder.notes.words.vocabulary import Phrases, vocabulary, words

# A shorter word with one wrong letter is too often another word.
_SHORTEST_MISSPELT = 6
# "12 in the morning", "2 in total": then it is not an inch.
_AFTER_INCH = {"wide", "thick", "long", "deep", "by", "x", "×", "belt", "gap", "high", "and", "per"}
_AFTER_INCH |= {"tall", "diameter", "dia", "pipe", "bolt", "screw", "screen", "or", "to", "from"}
# "the one second run": then it counts.
_AFTER_ORDINAL = {"splice", "slice", "run", "press", "pressing", "belt", "time", "finger", "one"}
_AFTER_ORDINAL |= {"attempt", "try", "half", "layer", "joint", "side"}
# With one of these after it, it is a unit of another kind: an area, a torque, a charge, a crowd.
_POWERS = {"squared", "cubed", "²", "³", "^", "·", "⋅"}
_CURRENCIES = {"$", "£", "€"}
_WEIGHTS = {"pound", "pounds", "lb", "lbs", "lbf"}
_PRESSURES = {"pressure", "air", "clamping", "pressing", "gauge"}
_TIMES_CURRENT = {"hour", "hours", "turn", "turns"}
# Single letters that are units in one case only: "15 A" but "a", "300 K", "1.8 m" but "1.8M".
_UPPER = {"a", "k", "r"}
_LOWER = {"ma", "mv", "nm"}
# "3 d", "1d 2h", but "3d printing".
_BEFORE_NO_WORD = {"d"}
# "A 9-V battery"; but "bay 2-A".
_AFTER_HYPHEN = {"v", "m", "in"}
_DECADES = {"the", "early", "mid", "late", "low", "high", "upper", "lower", "'", "’"}
_SCALES = ("degC", "degF", "kelvin", "degR")


@kept
def _long() -> Phrases[str]:
    table = vocabulary()["units"]
    return Phrases((phrase, unit) for unit, phrases in table.items() for phrase in phrases)


@kept
def _short() -> dict[str, str]:
    table = vocabulary()["short_units"]
    return {spelling: unit for unit, spellings in table.items() for spelling in spellings}


def unit_at(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """The unit after a number whose last token is tokens[i - 1], and the place after it.

    The bare "degrees" is the unit ``deg``; whoever knows the field decides what it means.
    """
    if i < len(tokens) and tokens[i].text == "-" and tokens[i].glued:
        i += 1
    found = _named(tokens, i) or _short_unit(tokens, i)
    if found is None or _is_ordinal(tokens, i, found[1]):
        return None
    unit, end = _degrees_of_a_scale(tokens, *found)
    return None if _is_part_of_another(tokens, unit, end) else (unit, end)


def _named(tokens: Tokens, i: int) -> tuple[str, int] | None:
    hit = _long().at(tokens, i) if i < len(tokens) else None
    return (hit.meanings[0], hit.end) if hit else _misspelt(tokens, i)


def _degrees_of_a_scale(tokens: Tokens, unit: str, end: int) -> tuple[str, int]:
    """As in "degrees Celsius", "deg. C", "° F", and "Celsius degrees", "C°"."""
    if unit == "deg":
        j = end + (_text(tokens, end) in {".", "-"} and tokens[end].glued)
        named = _named(tokens, j)
        scale = _short().get(_text(tokens, j), "") if named is None else named[0]
        if scale in _SCALES:
            return scale, named[1] if named else j + 1
    elif unit in _SCALES:
        degrees = _named(tokens, end)
        if degrees and degrees[0] == "deg":
            return unit, degrees[1]
    return unit, end


def _is_part_of_another(tokens: Tokens, unit: str, end: int) -> bool:
    """As in "20 m²", "4e14 s-1", "50 foot-pounds", "50 amp hours", "three bars of soap"."""
    after = _text(tokens, end)
    if after in _POWERS:
        return True
    k = end + (after == "-" and tokens[end].glued)
    here = _text(tokens, k)
    if unit in {"foot", "inch", "m"} and here in _WEIGHTS:
        return True
    if unit in {"A", "mA", "kA"} and here in _TIMES_CURRENT:
        return True
    if unit == "bar" and after == "of" and _text(tokens, end + 1) not in words("speech", "in_bar"):
        return True
    power = here in {"1", "2", "3"} and tokens[k].glued and tokens[end].glued
    short = len(_text(tokens, end - 1)) <= 2 and tokens[end - 1].sort is Sort.WORD
    glued_on = k + 1 < len(tokens) and tokens[k + 1].glued and tokens[k + 1].sort is not Sort.SIGN
    return power and short and not glued_on


def _text(tokens: Tokens, i: int) -> str:
    return tokens[i].text if 0 <= i < len(tokens) else ""


def _is_ordinal(tokens: Tokens, start: int, end: int) -> bool:
    if tokens[start].text != "second" or end >= len(tokens):
        return False
    return tokens[end].text in _AFTER_ORDINAL or _long().at(tokens, end) is not None


def _short_unit(tokens: Tokens, i: int) -> tuple[str, int] | None:
    """Single letters and signs: only after written digits."""
    unit = _short().get(_text(tokens, i))
    before = tokens[i - 1] if i else None
    if unit is None or before is None:
        return None
    if before.text == "-" and before.glued and i > 1 and tokens[i].text in _AFTER_HYPHEN:
        before = tokens[i - 2]
    # A power of ten ends in a word of high digits.
    if before.sort not in (Sort.NUMBER, Sort.FRACTION) and not before.text.isdigit():
        return None
    token = tokens[i]
    if token.text == "in" and not token.glued and not _ends_value(tokens, i):
        return None
    # "15 A supply", but "5 A DAY".
    shouted = i + 1 < len(tokens) and tokens[i + 1].raw.isupper()
    if token.text == "a" and not token.glued and shouted:
        return None
    if token.text in _UPPER and not token.raw.isupper():
        return None
    if token.raw[0].isupper() and (token.text in _LOWER or (token.glued and token.text == "m")):
        return None
    if _text(tokens, i - 2) in _CURRENCIES:
        return None
    if token.text in _BEFORE_NO_WORD and not _before_no_word(tokens, i):
        return None
    if token.text == "pm" and _is_hour(before):
        return None
    other = _is_versus(tokens, i) or _is_in_a_code(tokens, i) or _is_decade(tokens, i)
    return None if other else (unit, i + 1)


def _before_no_word(tokens: Tokens, i: int) -> bool:
    after = tokens[i + 1] if i + 1 < len(tokens) else None
    return tokens[i].raw.islower() and (after is None or after.sort in (Sort.SIGN, Sort.NUMBER))


def _is_hour(token: Token) -> bool:
    """As in "2 pm", "2.30 pm"; but "2.1 pm" and "150 pm" are lengths."""
    decimals = token.raw.partition(".")[2]
    return (token.value or 0.0) < 13 and len(decimals) in (0, 2)


def _is_versus(tokens: Tokens, i: int) -> bool:
    """As in "won 5 v 1"."""
    return tokens[i].text == "v" and i + 1 < len(tokens) and tokens[i + 1].sort is Sort.NUMBER


def _is_in_a_code(tokens: Tokens, i: int) -> bool:
    """As in "06F6", "24703m212"; "1h30", "1m75" and "1m50cm" are quantities."""
    if not tokens[i].raw.isalpha() or tokens[i].text in {"h", "d"} or i + 1 >= len(tokens):
        return False
    if not tokens[i].glued or not tokens[i + 1].glued or tokens[i + 1].sort is not Sort.NUMBER:
        return False
    if tokens[i].text == "m" and len(tokens[i - 1].raw) <= 2 and len(tokens[i + 1].raw) == 2:
        return False
    return i + 2 >= len(tokens) or not tokens[i + 2].glued or tokens[i + 2].sort is not Sort.WORD


def _is_decade(tokens: Tokens, i: int) -> bool:
    """As in "the 80s", "1970s"."""
    digits = tokens[i - 1].raw
    if tokens[i].text != "s" or not tokens[i].glued or not digits.endswith("0"):
        return False
    return len(digits) == 4 or (len(digits) == 2 and _text(tokens, i - 2) in _DECADES)


def _ends_value(tokens: Tokens, i: int) -> bool:
    if i + 1 >= len(tokens):
        return True
    after = tokens[i + 1]
    return after.sort is Sort.SIGN or after.text in _AFTER_INCH


def _misspelt(tokens: Tokens, i: int) -> tuple[str, int] | None:
    if i >= len(tokens) or tokens[i].sort is not Sort.WORD:
        return None
    if len(tokens[i].text) < _SHORTEST_MISSPELT:
        return None
    unit = _nearest(tokens[i].text)
    return (unit, i + 1) if unit else None


@kept
def _nearest(word: str) -> str | None:
    """The unit whose one-word spelling differs by one letter, when there is exactly one."""
    if len(word) > 14:
        return None
    spellings = _one_word_spellings()
    found = {spellings[variant] for variant in _variants(word) if variant in spellings}
    return found.pop() if len(found) == 1 else None


@kept
def _one_word_spellings() -> dict[str, str]:
    table = vocabulary()["units"]
    return {
        phrase: unit
        for unit, phrases in table.items()
        for phrase in phrases
        if " " not in phrase and len(phrase) >= _SHORTEST_MISSPELT
    }


def _variants(word: str) -> Iterator[str]:
    """The word with one letter dropped, doubled, swapped or replaced; its first letter stays."""
    letters = "abcdefghijklmnopqrstuvwxyz"
    for i in range(1, len(word)):
        yield word[:i] + word[i + 1 :]
        if i + 1 < len(word):
            yield word[:i] + word[i + 1] + word[i] + word[i + 2 :]
        for letter in letters:
            yield word[:i] + letter + word[i + 1 :]
            yield word[:i] + letter + word[i:]
    for letter in letters:
        yield word + letter


def is_unit_word(token: Token) -> bool:
    return token.text in _unit_tokens()


@kept
def _unit_tokens() -> frozenset[str]:
    table = vocabulary()["units"]
    return frozenset(word for phrases in table.values() for p in phrases for word in p.split())
