"""Text as the full-text index sees it: words in lower case without accents.

What FTS5's tokenizer unicode61 does with ``remove_diacritics 2``:
https://www.sqlite.org/fts5.html#unicode61_tokenizer
"""

from __future__ import annotations

import functools
import re
import unicodedata

_ACCENTS = range(0x300, 0x332)  # combining marks that unicode61 leaves out of a word


def in_token(character: str) -> bool:
    """Whether it belongs to a word: letters, numbers and private-use characters."""
    category = unicodedata.category(character)
    return category[0] in "LN" or category == "Co"


_ASCII_WORD = re.compile("[a-z0-9]+")


@functools.lru_cache(maxsize=4096)
def tokens(text: str) -> tuple[str, ...]:
    """The words of a text, folded."""
    if text.isascii():  # nearly all are, and there are thousands on one page of results
        return tuple(_ASCII_WORD.findall(text.lower()))
    plain = (fold(character) for character in text if ord(character) not in _ACCENTS)
    return tuple("".join(c if all(map(in_token, c)) else " " for c in plain).split())


def fold(text: str) -> str:
    """Lower case, and Latin letters without their accents."""
    return "".join(map(_bare, text.lower()))


def _bare(character: str) -> str:
    if character.isascii():
        return character
    if ord(character) in _ACCENTS:
        return ""
    base = unicodedata.normalize("NFD", character)[0]
    return base if base.isascii() else character
