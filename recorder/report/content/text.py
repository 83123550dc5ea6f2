"""Text from outside made fit for a page: nothing invisible, nothing that reorders its surroundings.

HTML is not escaped here; the template engine does that to everything.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated

from pydantic import AfterValidator

# The sign that every typeface of the report has; the replacement character is in few.
UNPRINTABLE = "\N{WHITE SQUARE}"
ZERO_WIDTH_SPACE = "\u200b"
_BREAKS = "\t\n\v\f\r\x85\N{LINE SEPARATOR}\N{PARAGRAPH SEPARATOR}"
# Marks, embeddings, overrides and isolates of the bidirectional algorithm (Unicode UAX #9, 2.7),
# which can make a number read backwards.
_DIRECTION = {
    *map(chr, range(0x202A, 0x202F)),
    *map(chr, range(0x2066, 0x206A)),
    "\N{LEFT-TO-RIGHT MARK}",
    "\N{RIGHT-TO-LEFT MARK}",
    "\N{ARABIC LETTER MARK}",
}
# Signs of numbers and verses that have a shape although they are of category Cf
# (Unicode 16, PropList: Prepended_Concatenation_Mark).
_SEEN = set(
    "\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2\U000110bd\U000110cd"
)
# Letters and marks without a shape that are not of category Cf (Unicode 16,
# DerivedCoreProperties: Default_Ignorable_Code_Point, but for the selectors of a sign's look).
_UNSEEN = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u2065\u3164\ufe00-\ufe0d\uffa0\ufff0-\ufff8"
    "\U000e0000-\U000e0fff]"
)
_JOINERS = "\u200c\u200d"
# A joiner says something only between letters that join, or in a composed emoji.
_JOINED = (
    "[\u0590-\u1fff\u2190-\u2bff\ua800-\uabff\ufb50-\ufdff\ufe0f\ufe70-\ufefc\U00010000-\U000dffff]"
)
_IDLE_JOINER = re.compile(f"(?<!{_JOINED})[{_JOINERS}]|[{_JOINERS}](?!{_JOINED})")

# Breaking one endless word takes the typesetter time by its square; no real word is so long.
_ENDLESS = re.compile("[^ ]{80,}")
_PIECE = re.compile(".{40}")


def clean(text: str) -> str:
    """The text on one line, with a visible sign for each control character in it.

    What has no shape and controls nothing is left out: soft hyphens, byte order marks, tags.
    """
    seen = _IDLE_JOINER.sub("", _UNSEEN.sub("", "".join(map(_shown, text))))
    words = seen.split(" ")  # a no-break space stays one
    line = " ".join(word for word in words if word)
    return _ENDLESS.sub(lambda word: _PIECE.sub(rf"\g<0>{ZERO_WIDTH_SPACE}", word[0]), line)


def _shown(char: str) -> str:
    if char in _BREAKS:
        return " "
    if (
        char in _DIRECTION
        or unicodedata.category(char) in ("Cc", "Co", "Cs")
        or _noncharacter(char)
    ):
        return UNPRINTABLE
    if unicodedata.category(char) == "Cf" and char not in _SEEN and char not in _JOINERS:
        return ""
    return char


def _noncharacter(char: str) -> bool:
    code = ord(char)
    return code & 0xFFFE == 0xFFFE or 0xFDD0 <= code <= 0xFDEF


def brief(text: str, most: int) -> str:
    """The text in at most so many characters, cut between words where it is too long."""
    line = clean(text)
    if len(line) <= most:
        return line
    cut = line[: most - 1]
    words = cut.rpartition(" ")[0]
    return (words if len(words) > most / 2 else cut).rstrip() + "…"


Text = Annotated[str, AfterValidator(clean)]
