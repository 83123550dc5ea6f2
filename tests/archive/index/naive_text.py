"""A text index in plain Python, for comparison: all texts are looked through for each query."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from sqlalchemy import case

from recorder.archive.index.schema import JOBS
from recorder.archive.index.text import CLOSE, OPEN, Matching, Phrase, Query

Span = tuple[int, int]


class NaiveText:
    def __init__(self) -> None:
        self._texts: dict[int, list[str]] = {}

    def make(self) -> None:
        self._texts = {}

    def settle(self) -> None:
        pass

    def put(self, key: int, lines: Sequence[str]) -> None:
        self._texts[key] = list(lines)

    def remove(self, key: int) -> None:
        self._texts.pop(key, None)

    def lines(self, key: int) -> list[str]:
        return self._texts.get(key, [])

    def words(self, lines: Sequence[str]) -> set[str]:
        return {word for line in lines for word, _ in tokens(line)}

    def all_words(self) -> Iterable[tuple[str, int]]:
        return Counter(word for lines in self._texts.values() for word in self.words(lines)).items()

    def matching(self, query: Query, scored: bool = False) -> Matching:
        spans = {key: self._spans(query, key) for key in self._texts}
        found = {key: -sum(map(len, lines)) for key, lines in spans.items() if lines}
        score = case(found, value=JOBS.c.key) if found else JOBS.c.key
        texts = {
            key: "\n".join(lines) for key, lines in self.highlighted(query, list(found)).items()
        }
        text = case(texts, value=JOBS.c.key) if found else JOBS.c.id
        return Matching(JOBS.c.key, JOBS.c.key.in_(found), score, text)

    def highlighted(self, query: Query, keys: Sequence[int]) -> dict[int, list[str]]:
        return {
            key: [marked(line, spans) for line, spans in zip(self._texts[key], found, strict=True)]
            for key in keys
            if key in self._texts and (found := self._spans(query, key))
        }

    def apart(self, text: str) -> list[str]:
        return text.split("\n")

    def scrub(self) -> None:
        pass

    def check(self) -> None:
        pass

    def _spans(self, query: Query, key: int) -> list[list[Span]]:
        """Of each line the places that match; nothing when a group is not fulfilled."""
        lines = [tokens(line) for line in self._texts[key]]
        for group in query:
            if not any(found(phrase, line) for phrase in group for line in lines):
                return []
        phrases = [phrase for group in query for phrase in group]
        return [[span for phrase in phrases for span in found(phrase, line)] for line in lines]


def tokens(line: str) -> list[tuple[str, Span]]:
    """The words of a line, folded, and where they stand."""
    return [(folded(match[0]), match.span()) for match in re.finditer(r"[^\W_]+", line)]


def folded(word: str) -> str:
    plain = unicodedata.normalize("NFD", word.lower())
    return "".join(character for character in plain if not unicodedata.combining(character))


def found(phrase: Phrase, line: list[tuple[str, Span]]) -> list[Span]:
    *first, last = (word for word, _ in tokens(phrase.text))
    return list(_found(first, last, phrase.prefix, line))


def _found(
    first: list[str], last: str, prefix: bool, line: list[tuple[str, Span]]
) -> Iterator[Span]:
    for start in range(len(line) - len(first)):
        *before, end = (word for word, _ in line[start : start + len(first) + 1])
        if before == first and (end.startswith(last) if prefix else end == last):
            yield line[start][1][0], line[start + len(first)][1][1]


def marked(line: str, spans: Sequence[Span]) -> str:
    """The line with marks around every character that a match covers."""
    covered = [any(start <= at < end for start, end in spans) for at in range(len(line))]
    text = "".join(
        f"{OPEN}{character}{CLOSE}" if inside else character
        for character, inside in zip(line, covered, strict=True)
    )
    return text.replace(f"{CLOSE}{OPEN}", "")
