"""Text from outside made fit for a page: nothing invisible, nothing that reorders its surroundings.

HTML is not escaped here; the template engine does that to everything.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated

from pydantic import AfterValidator

UNPRINTABLE = "\N{REPLACEMENT CHARACTER}"
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


# Breaking one endless word takes the typesetter time by its square; no real word is so long.
_ENDLESS = re.compile(f"[^ {ZERO_WIDTH_SPACE}]{{80,}}")
_PIECE = re.compile(".{40}")


def clean(text: str) -> str:
    """The text on one line, with a visible sign for each control character in it."""
    words = "".join(map(_shown, text)).split(" ")  # a no-break space stays one
    line = " ".join(word for word in words if word)
    return _ENDLESS.sub(lambda word: _PIECE.sub(rf"\g<0>{ZERO_WIDTH_SPACE}", word[0]), line)


def _shown(char: str) -> str:
    if char in _BREAKS:
        return " "
    if char in _DIRECTION or unicodedata.category(char) in ("Cc", "Cs") or _noncharacter(char):
        return UNPRINTABLE
    return char


def _noncharacter(char: str) -> bool:
    code = ord(char)
    return code & 0xFFFE == 0xFFFE or 0xFDD0 <= code <= 0xFDEF


Text = Annotated[str, AfterValidator(clean)]
