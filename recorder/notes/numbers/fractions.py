"""Proper fractions, spoken and written: "three-eighths", "a quarter", "3/8"."""

from __future__ import annotations

from recorder.notes.numbers.number_words import SCALES, below_hundred, word_at
from recorder.notes.words.lexer import Sort, Tokens

_NAMES = {
    **{"half": 2, "halves": 2, "third": 3, "quarter": 4, "fourth": 4, "fifth": 5, "sixth": 6},
    **{"eighth": 8, "tenth": 10, "twelfth": 12, "sixteenth": 16, "hundredth": 100},
    **{"thousandth": 1000, "millionth": 1_000_000, "billionth": 1_000_000_000},
}
# These are said without their plural s as well.
_SAID_SHORT = {"quarter", "eighth", "sixteenth"}
PARTS = _NAMES | {f"{name}s": below for name, below in _NAMES.items() if name[-1] != "s"}


def fraction_at(tokens: Tokens, i: int) -> tuple[float, int] | None:
    """A proper fraction at tokens[i] and the place after it: "a half", "half a", "3/8"."""
    if i >= len(tokens):
        return None
    token = tokens[i]
    if token.sort is Sort.FRACTION:
        return token.value or 0.0, i + 1
    if token.text == "half":
        return 0.5, i + 1
    if token.text in {"a", "an"}:
        j = i + 2 if word_at(tokens, i + 1) == "-" else i + 1
        below = PARTS.get(word_at(tokens, j))
        return (1 / below, j + 1) if below else None
    if token.text == "quarter":
        return 0.25, i + 1
    group = below_hundred(tokens, i)
    if group is None or group[0] == "0":
        return None
    j = group[1] + 1 if word_at(tokens, group[1]) == "-" else group[1]
    below = PARTS.get(word_at(tokens, j))
    plural = word_at(tokens, j).endswith("s")
    # "Two and three quarter inches"; but the seventy-eighth is no fraction.
    short = word_at(tokens, j) in _SAID_SHORT and 1 < int(group[0]) < (below or 0)
    if below and (plural == (group[0] != "1") or short):
        return float(group[0]) / below, j + 1
    return None


def part_at(tokens: Tokens, i: int) -> tuple[float, int] | None:
    """A proper fraction, of a large number too: "half a million", "a quarter of a thousand"."""
    part = fraction_at(tokens, i)
    if part is None:
        return None
    j = part[1] + (word_at(tokens, part[1]) == "of")
    scale = SCALES.get(word_at(tokens, j + 1)) if word_at(tokens, j) == "a" else None
    return (part[0] * scale, j + 2) if scale else part
