"""What a person sees of the text that was found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

SNIPPET_LINES = 3
SNIPPET_CHARACTERS = 120
OPEN, CLOSE = "\x02", "\x03"  # control characters never stand in the indexed text


class Place(NamedTuple):
    """Where a line of text comes from. file, start_s: where it was heard, if it was."""

    label: str
    file: str | None
    start_s: float | None


class Snippet(NamedTuple):
    """text: for people, the words in [ ]. sound_file, sound_s: of the first match heard."""

    text: str = ""
    sound_file: str | None = None
    sound_s: float | None = None


def snippet(lines: Iterable[str], places: Sequence[Place]) -> Snippet:
    """The first matching lines of a job. lines: all of it, each match between OPEN and CLOSE."""
    shown: list[str] = []
    heard: tuple[str | None, float | None] = (None, None)
    for number, line in enumerate(lines):
        if OPEN not in line:
            continue
        label, file, start_s = places[number]
        shown.append(f"{label}: {_excerpt(line)}")
        if heard[1] is None and start_s is not None:
            heard = (file, start_s)
    return Snippet(" … ".join(shown[:SNIPPET_LINES]), *heard)


def _excerpt(line: str) -> str:
    """The part of a line around its first match, with the marks for people."""
    start = max(0, line.index(OPEN) - SNIPPET_CHARACTERS // 3)
    end = max(start + SNIPPET_CHARACTERS, line.index(CLOSE) + 1)
    cut = line[start:end]
    if cut.count(OPEN) > cut.count(CLOSE):
        cut += CLOSE
    text = cut.strip().replace(OPEN, "[").replace(CLOSE, "]")
    return f"{'…' if start else ''}{text}{'…' if end < len(line) else ''}"
