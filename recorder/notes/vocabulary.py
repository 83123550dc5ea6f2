"""The words of the trade in the vocabulary in force, and the phrases found in tokens."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from recorder.notes.lexer import Tokens, tokens_of
from recorder.notes.speaking import in_force, kept

Meaning = TypeVar("Meaning")

_LONGEST_PROMPT = 120  # words; Whisper takes 224 tokens before the text


def vocabulary() -> Mapping[str, Any]:
    """The tables of the vocabulary in force."""
    return in_force().tables


@kept
def words(section: str, key: str) -> tuple[str, ...]:
    """One list of those tables; empty when it is not there."""
    return tuple(vocabulary().get(section, {}).get(key, ()))


def hearing_prompt(names: Sequence[str]) -> str:
    """What the recogniser is made ready for: the trade's words and the names of this job.

    Free of digits: a number in the prompt would come back as one that nobody said.
    """
    spoken = [
        " ".join(word for word in name.split() if not re.search(r"\d", word)) for name in names
    ]
    parts = [*dict.fromkeys(name for name in spoken if name)]
    text = str(vocabulary()["prompt"]["text"])
    joined = f"{', '.join(parts)}. {text}" if parts else text
    return " ".join(joined.split()[:_LONGEST_PROMPT])


@dataclass(frozen=True)
class Hit(Generic[Meaning]):
    """A phrase in tokens[start:end] and all that it can mean."""

    start: int
    end: int
    meanings: tuple[Meaning, ...]


class Phrases(Generic[Meaning]):
    """Phrases with meanings, found longest first, each token looked at a bounded number of times.

    A hyphen inside a phrase counts as a blank, and a possessive ("pressure's") as the plain word.
    """

    def __init__(self, entries: Iterable[tuple[str, Meaning]]) -> None:
        self._root: dict[str, Any] = {}
        for phrase, meaning in entries:
            node = self._root
            for token in tokens_of(phrase):
                if token.text != "-":
                    node = node.setdefault(token.text, {})
            meanings = node.setdefault("", [])
            if meaning not in meanings:
                meanings.append(meaning)
        self._first = frozenset(self._root)

    def at(self, tokens: Tokens, i: int) -> Hit[Meaning] | None:
        """The longest phrase that starts at tokens[i]."""
        node, j, best = self._root, i, None
        while j < len(tokens):
            text = tokens[j].text
            if text == "-" and j > i:
                j += 1
                continue
            step = node.get(text)
            if step is None and text.endswith("'s"):
                step = node.get(text[:-2])
            if step is None or not text:
                break
            node, j = step, j + 1
            if "" in node:
                best = Hit(i, j, tuple(node[""]))
        return best

    def all(self, tokens: Tokens) -> list[Hit[Meaning]]:
        """All phrases from left to right, none inside another."""
        root, hits, end = self._root, [], 0
        if _first_words(tokens).isdisjoint(self._first):
            return []
        starts = [i for i, t in enumerate(tokens) if t.text in root or t.text[-2:] == "'s"]
        for i in starts:
            hit = self.at(tokens, i) if i >= end else None
            if hit:
                hits.append(hit)
                end = hit.end
        return hits


_latest: tuple[Tokens, frozenset[str]] = ((), frozenset())


def _first_words(tokens: Tokens) -> frozenset[str]:
    """All words with which a phrase in the tokens can begin.

    Dozens of lists are looked for in one utterance after the other, so the latest is kept.
    """
    global _latest
    if _latest[0] is not tokens:
        texts = {token.text for token in tokens}
        plain = {text[:-2] for text in texts if text.endswith("'s")}
        _latest = tokens, frozenset(texts | plain)
    return _latest[1]


@kept
def speech(key: str) -> Phrases[str]:
    """The phrases of one list of the speech section."""
    return Phrases((phrase, phrase) for phrase in words("speech", key))
