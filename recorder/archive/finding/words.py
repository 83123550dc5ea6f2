"""A person's search words as an FTS5 expression in which nothing is an operator.

Syntax: https://www.sqlite.org/fts5.html#full_text_query_syntax. A word in double quotes is a
phrase of the tokens in it, so that ``145.5`` and ``o'brien`` find what the tokenizer made of them.
"""

from __future__ import annotations

import unicodedata

PREFIX_LETTERS = 3


def expression(words: str) -> str | None:
    """Every word must occur; the last one, and each of three letters or more, as a beginning.

    None when there is no word with a letter or digit in it. Never raises.
    """
    plain = words.encode("utf-8", "replace").decode().replace("\0", " ")
    found = list(dict.fromkeys(word for word in plain.split() if any(map(_in_token, word))))
    if not found:
        return None
    return " AND ".join(_phrase(word, word is found[-1]) for word in found)


def _phrase(word: str, last: bool) -> str:
    quoted = '"' + word.replace('"', '""') + '"'
    prefix = last or sum(map(_in_token, word)) >= PREFIX_LETTERS
    return f"{quoted} *" if prefix else quoted


def _in_token(character: str) -> bool:
    """What FTS5's unicode61 keeps: letters, numbers and private-use characters."""
    category = unicodedata.category(character)
    return category[0] in "LN" or category == "Co"
