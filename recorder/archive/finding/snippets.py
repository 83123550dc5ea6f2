"""What a person sees of the text that was found."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from recorder.archive.finding.folding import tokens
from recorder.archive.finding.words import occurs
from recorder.archive.index.text import CLOSE, OPEN, Query
from recorder.model.base import Value

SNIPPET_LINES = 3
SNIPPET_CHARACTERS = 120

_MARK = re.compile(f"[{OPEN}{CLOSE}]")
_MATCH = re.compile(f"{OPEN}([^{CLOSE}]*){CLOSE}")


class Place(NamedTuple):
    """Where a line of text comes from. file, start_s: where it was heard, if it was."""

    label: str
    file: str | None
    start_s: float | None


class Line(Value):
    """A line that matches, cut around its matches.

    label: what it is, for people. text: of the line. marks: first and last-plus-one character of
    each match in it. file, start_s: where it was heard or read; None where it was not.
    """

    label: str
    text: str
    marks: tuple[tuple[int, int], ...]
    file: str | None = None
    start_s: float | None = None

    def marked(self, begin: str = "[", end: str = "]") -> str:
        """The text with something before and after each match."""
        parts = [self.text]
        for first, last in reversed(self.marks):
            rest = parts.pop()
            parts += [rest[last:], end, rest[first:last], begin, rest[:first]]
        return "".join(reversed(parts))

    def cut(self, length: int) -> Line:
        """So many characters of the text around its first match, which stays whole, and "…" where
        something is missing.
        """
        first, last = self.marks[0]
        start = max(0, first - length // 3)
        end = max(start + length, last)
        if end >= len(self.text):
            start = max(0, min(start, len(self.text) - length))
        before, after = "…" if start else "", "…" if end < len(self.text) else ""
        moved = len(before) - start
        marks = tuple((a + moved, min(b, end) + moved) for a, b in self.marks if a < end)
        text = f"{before}{self.text[start:end]}{after}"
        return self.model_copy(update={"text": text, "marks": marks})


class Snippet(NamedTuple):
    """The lines of a job that tell most of what was looked for."""

    lines: tuple[Line, ...] = ()

    @property
    def text(self) -> str:
        """In one line for people, the matches in [ ]."""
        return " … ".join(f"{line.label}: {line.marked()}" for line in self.lines)

    @property
    def sound(self) -> tuple[str | None, float | None]:
        """File and second of the first line that was heard."""
        heard = (line for line in self.lines if line.start_s is not None)
        return next(((line.file, line.start_s) for line in heard), (None, None))


def snippet(marked: Iterable[str], places: Mapping[int, Place], query: Query) -> Snippet:
    """The lines with most different words first.

    marked: all lines of the job, each match between OPEN and CLOSE. places: of those with a match,
    by their numbers. query: what was looked for.
    """
    found = {number: line for number, line in enumerate(marked) if OPEN in line}
    words = {
        number: frozenset().union(*(_fulfilled(query, match) for match in _MATCH.findall(line)))
        for number, line in found.items()
    }
    said = {number: (places[number].file, line.strip(" .,;")) for number, line in found.items()}
    chosen = _most_telling(words, said)
    return Snippet(tuple(_line(found[number], places[number]) for number in chosen))


@functools.lru_cache(maxsize=4096)  # a page of results has few different matches
def _fulfilled(query: Query, match: str) -> frozenset[int]:
    """Which groups of the query a match fulfils."""
    text = tokens(match)
    return frozenset(
        number
        for number, group in enumerate(query)
        if any(occurs(phrase, text) for phrase in group)
    )


def _most_telling(
    words: dict[int, frozenset[int]], said: dict[int, tuple[str | None, str]]
) -> list[int]:
    """Numbers of lines: again and again the one with most words that were not told yet.

    said: file and text of each; a note is not shown again in the sentence out of which it came.
    """
    left, told, chosen = dict(words), frozenset[int](), list[int]()
    while left and len(chosen) < SNIPPET_LINES:
        best = min(left, key=lambda n: (-len(left[n] - told), -len(left[n]), n))
        told |= left[best]
        chosen.append(best)
        left = {n: left[n] for n in left if n != best and not _repeats(said[n], said[best])}
    return chosen


def _repeats(said: tuple[str | None, str], shown: tuple[str | None, str]) -> bool:
    same_file = said[0] is not None and said[0] == shown[0]
    return same_file and (said[1] in shown[1] or shown[1] in said[1])


def _line(marked: str, place: Place) -> Line:
    text, marks = "", []
    for number, part in enumerate(_MARK.split(marked)):
        if number % 2:
            marks.append((len(text), len(text) + len(part)))
        text += part
    whole = Line(
        label=place.label, text=text, marks=tuple(marks), file=place.file, start_s=place.start_s
    )
    return whole.cut(SNIPPET_CHARACTERS)
