"""A person's search words as phrases that a full-text index looks for."""

from __future__ import annotations

import unicodedata

from recorder.archive.index.text import Phrase, Query

PREFIX_LETTERS = 3
NOTHING: Query = ((),)


def query(words: str) -> Query:
    """Every word must occur; the last one, and each of three letters or more, as a beginning.

    No condition when there are no words, and one that nothing fulfils when none of them has a
    letter or digit in it. Never raises.
    """
    plain = words.encode("utf-8", "replace").decode().replace("\0", " ")
    if not words.strip():
        return ()
    found = list(dict.fromkeys(word for word in plain.split() if any(map(_in_token, word))))
    return tuple((_phrase(word, word is found[-1]),) for word in found) or NOTHING


def _phrase(word: str, last: bool) -> Phrase:
    return Phrase(word, prefix=last or sum(map(_in_token, word)) >= PREFIX_LETTERS)


def _in_token(character: str) -> bool:
    """What FTS5's unicode61 keeps: letters, numbers and private-use characters."""
    category = unicodedata.category(character)
    return category[0] in "LN" or category == "Co"
