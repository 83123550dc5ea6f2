"""Powers of ten behind a number: "1.5 × 10^7"."""

from __future__ import annotations

from recorder.notes.numbers.number_words import word_at
from recorder.notes.words.lexer import Tokens

_TIMES = {"×", "x", "·", "*"}
_HIGH_DIGITS = "⁰¹²³⁴⁵⁶⁷⁸⁹"
_SUPERSCRIPTS = str.maketrans(_HIGH_DIGITS, "0123456789")
_LARGEST_POWER = 30


def with_power_of_ten(tokens: Tokens, value: float, j: int) -> tuple[float, int] | None:
    """The value of a number that goes on at tokens[j] with a power of ten, and the place after it.

    As in "1.5 × 10^7", "2x10⁻³", "10^5", "3 * 10**3".
    """
    if word_at(tokens, j) in _TIMES and word_at(tokens, j + 1) == "10":
        factor, j = value, j + 2
    elif value == 10:
        factor = 1.0
    else:
        return None
    raised = word_at(tokens, j) == "^" or word_at(tokens, j) == word_at(tokens, j + 1) == "*"
    j += raised + (word_at(tokens, j) == "*")
    sign = -1 if word_at(tokens, j) in {"-", "−", "⁻"} else 1
    j += sign < 0
    digits = word_at(tokens, j)
    if not raised:
        digits = digits.translate(_SUPERSCRIPTS) if digits.strip(_HIGH_DIGITS) == "" else ""
    if not (digits.isascii() and digits.isdigit()) or int(digits[:3]) > _LARGEST_POWER:
        return None
    return float(f"{factor * 10.0 ** (sign * int(digits)):.15g}"), j + 1
