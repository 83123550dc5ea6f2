"""A person's search words as phrases that a full-text index looks for."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from recorder.archive.finding.folding import in_token, tokens
from recorder.archive.index.text import Phrase, Query

PREFIX_LETTERS = 3
NOTHING: Query = ((),)

# A quotation begins and ends where a word does: the mark in 'a 5" belt' is none.
_WORD = re.compile(r'(?<!\S)"(?P<quoted>[^"]*)"(?!\S)|(?P<plain>\S+)')


class Word(NamedTuple):
    """One word as it was typed, or what stands in a pair of quotation marks. quoted: which of the
    two. last: of all, so that it may not be finished.
    """

    text: str
    quoted: bool = False
    last: bool = False

    def phrase(self) -> Phrase:
        """A quotation as it stands; the last word, and one of three letters or more, also as a
        beginning.
        """
        prefix = self.last or sum(map(in_token, self.text)) >= PREFIX_LETTERS
        return Phrase(self.text, prefix=prefix and not self.quoted)


def typed(words: str) -> tuple[Word, ...]:
    """The different words that have a letter or digit in them. Never raises."""
    plain = words.encode("utf-8", "replace").decode().replace("\0", " ")
    parts = (
        Word(part["plain"] or part["quoted"], part["plain"] is None)
        for part in _WORD.finditer(plain)
    )
    found = list(dict.fromkeys(part for part in parts if any(map(in_token, part.text))))
    return (*found[:-1], *(word._replace(last=True) for word in found[-1:]))


def query(words: str) -> Query:
    """Every word must occur.

    No condition when there are no words, and one that nothing fulfils when none of them has a
    letter or digit in it. Never raises.
    """
    return tuple((word.phrase(),) for word in typed(words)) or (NOTHING if words.strip() else ())


def occurs(phrase: Phrase, text: Sequence[str]) -> bool:
    """Whether a phrase stands in a text. text: its tokens."""
    looked_for = tokens(phrase.text)
    last = len(looked_for) - 1
    return last >= 0 and any(
        tuple(text[at : at + last]) == looked_for[:last]
        and (text[at + last] == looked_for[last]
             or (phrase.prefix and text[at + last].startswith(looked_for[last])))
        for at in range(len(text) - last)
    )  # fmt: skip
