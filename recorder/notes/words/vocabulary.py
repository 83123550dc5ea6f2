"""The words of the trade in the vocabulary in force, and the phrases found in tokens."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from recorder.notes.words.lexer import Tokens, tokens_of
from recorder.notes.words.speaking import in_force, kept

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
    A phrase may hold classes, any of whose words may stand there: "{opened} {it?} at"; one with
    "?" may be left out. The classes are lists of the table ``classes``.
    """

    def __init__(self, entries: Iterable[tuple[str, Meaning]]) -> None:
        self._root: dict[str, Any] = {}
        self._patterns: dict[str, list[tuple[tuple[_Step, ...], Meaning]]] = {}
        for phrase, meaning in entries:
            if "{" in phrase:
                steps = _steps(phrase)
                for first in _first_of(steps):
                    self._patterns.setdefault(first, []).append((steps, meaning))
                continue
            meanings = _end_of(self._root, phrase)
            if meaning not in meanings:
                meanings.append(meaning)
        self._first = frozenset({*self._root, *self._patterns})

    def at(self, tokens: Tokens, i: int) -> Hit[Meaning] | None:
        """The longest phrase that starts at tokens[i]."""
        text = tokens[i].text
        if text not in self._first and text[-2:] != "'s":
            return None
        last = _last(self._root, tokens, i)
        best = Hit(i, last[0], tuple(last[1])) if last else None
        if not self._patterns:
            return best
        for steps, meaning in self._patterns.get(text) or self._patterns.get(_plain(text)) or ():
            end = _furthest(steps, tokens, i)
            if end and (best is None or end > best.end):
                best = Hit(i, end, (meaning,))
            elif best is not None and end == best.end and meaning not in best.meanings:
                best = Hit(i, end, (*best.meanings, meaning))
        return best

    def all(self, tokens: Tokens) -> list[Hit[Meaning]]:
        """All phrases from left to right, none inside another."""
        first, hits, end = self._first, [], 0
        if _first_words(tokens).isdisjoint(first):
            return []
        starts = [i for i, t in enumerate(tokens) if t.text in first or t.text[-2:] == "'s"]
        for i in starts:
            hit = self.at(tokens, i) if i >= end else None
            if hit:
                hits.append(hit)
                end = hit.end
        return hits


@dataclass(frozen=True, eq=False)
class _Step:
    """One word or class of a phrase. root: its words as a tree, each word a branch."""

    root: dict[str, Any]
    optional: bool


_DIGIT = re.compile(r"\d")
_CLASS = re.compile(r"\{\s*(\w+)\s*(\?)?\s*\}|[^{}]+")


def _steps(phrase: str) -> tuple[_Step, ...]:
    steps = []
    for part in _CLASS.finditer(phrase):
        if part[1]:
            steps.append(_Step(_class(part[1]), part[2] is not None))
        elif part[0].strip():
            root: dict[str, Any] = {}
            _end_of(root, part[0]).append(True)
            steps.append(_Step(root, False))
    return tuple(steps)


@kept
def _class(name: str) -> dict[str, Any]:
    root: dict[str, Any] = {}
    for member in words("classes", name):
        _end_of(root, member).append(True)
    return root


def _first_of(steps: tuple[_Step, ...]) -> set[str]:
    """The words with which a phrase of these steps can begin."""
    found: set[str] = set()
    for step in steps:
        found |= set(step.root)
        if not step.optional:
            break
    return found


def _furthest(steps: tuple[_Step, ...], tokens: Tokens, i: int) -> int:
    """The place after the longest stretch from tokens[i] that goes through all steps; 0 if none."""
    places = {i}
    for step in steps:
        reached = {j for place in places for j, _ in _walk(step.root, tokens, place)}
        places = reached | places if step.optional else reached
        if not places:
            return 0
    return max(places)


def _end_of(root: dict[str, Any], phrase: str) -> list[Any]:
    """The meanings at the end of a phrase in a tree of words, which grows by it."""
    node = root
    for text in _texts(phrase):
        if text != "-":
            node = node.setdefault(text, {})
    meanings: list[Any] = node.setdefault("", [])
    return meanings


def _texts(phrase: str) -> Iterable[str]:
    """The texts of a phrase's tokens.

    The vocabulary has a hundred thousand phrases of few different words. Only digits, and the
    number words of another language, make one token of what a blank parts; the other words are
    read once each.
    """
    if in_force().read or _DIGIT.search(phrase):
        return (token.text for token in tokens_of(phrase))
    return (text for word in phrase.split() for text in _texts_of_word(word))


@functools.lru_cache(maxsize=10_000)
def _texts_of_word(word: str) -> tuple[str, ...]:
    return tuple(token.text for token in tokens_of(word))


def _last(root: dict[str, Any], tokens: Tokens, i: int) -> tuple[int, list[Any]] | None:
    """The place after the longest phrase of a tree that starts at tokens[i], and its meanings."""
    node, j, found = root, i, None
    many = len(tokens)
    while j < many:
        text = tokens[j].text
        if text == "-" and j > i:
            j += 1
            continue
        step = node.get(text)
        if step is None and text[-2:] == "'s":
            step = node.get(text[:-2])
        if step is None or not text:
            break
        node, j = step, j + 1
        if "" in node:
            found = j, node[""]
    return found


def _walk(root: dict[str, Any], tokens: Tokens, i: int) -> Iterator[tuple[int, dict[str, Any]]]:
    """The places after all phrases of a tree that start at tokens[i], with where they end in it."""
    node, j = root, i
    while j < len(tokens):
        text = tokens[j].text
        if text == "-" and j > i:
            j += 1
            continue
        step = node.get(text)
        if step is None and text.endswith("'s"):
            step = node.get(text[:-2])
        if step is None or not text:
            return
        node, j = step, j + 1
        if "" in node:
            yield j, node


def _plain(text: str) -> str:
    return text.removesuffix("'s")


_latest: tuple[Tokens, frozenset[str]] = ((), frozenset())


def _first_words(tokens: Tokens) -> frozenset[str]:
    """All words with which a phrase in the tokens can begin.

    Dozens of lists are looked for in one utterance after the other, so the latest is kept.
    """
    global _latest
    latest = _latest  # read once: another thread may replace it meanwhile
    if latest[0] is not tokens:
        texts = {token.text for token in tokens}
        plain = {text[:-2] for text in texts if text.endswith("'s")}
        _latest = latest = tokens, frozenset(texts | plain)
    return latest[1]


@kept
def speech(key: str) -> Phrases[str]:
    """The phrases of one list of the speech section."""
    return Phrases((phrase, phrase) for phrase in words("speech", key))
