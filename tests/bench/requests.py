"""How many requests are understood, and how many fire that nobody made.

``python -m tests.bench.requests [--set report] [--language en] [--spoken] [--noise 15]`` reads the
requests and the talk beside them from ``sets/requests_*.toml`` and every narration of the bench
(none of which asks anything), as text or through synthetic voices and the bundled model, and prints
hits, misses, what was taken for something else, and each false fire in full.

Phrases may be changed for 'development'; figures are quoted from 'report' alone.
"""

from __future__ import annotations

import argparse
import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from recorder.model.transcript import Utterance, Word
from recorder.notes.languages import vocabulary_of
from recorder.notes.names.movement import Way, moves_of
from recorder.notes.requests.request import Ask, Request, Timer
from recorder.notes.requests.requests import asked
from recorder.notes.words.lexer import tokens_of
from recorder.notes.words.speaking import speaking
from tests.bench.narrations import SETS, load

# What cannot be undone by one more word, or stops the taking down.
GRAVE = {Ask.FINISH, Ask.UNDO, Ask.NEXT_SPLICE, Ask.PAUSE}


@dataclass(frozen=True)
class Case:
    """said: one utterance. wanted: None when it asks nothing."""

    said: str
    wanted: Request | None


def cases(name: str, language: str) -> Iterator[Case]:
    """The rows of a set in one language."""
    tables = tomllib.loads((SETS / f"requests_{name}.toml").read_text(encoding="utf-8"))[language]
    for said in tables["none"]:
        yield Case(said, None)
    for ask in Ask:
        for row in tables.get(ask, {"say": ()})["say"]:
            said, _, meant = row.partition(" => ")
            yield Case(said, _wanted(ask, said, meant))


def _wanted(ask: Ask, said: str, meant: str) -> Request:
    if ask is Ask.NOTE:
        return Request(ask=ask, said=said, text=meant)
    if ask in (Ask.TIMER_START, Ask.TIMER_STOP):
        timer, _, seconds = (meant or "other").partition(", ")
        return Request(
            ask=ask, said=said, timer=Timer(timer), seconds=float(seconds) if seconds else None
        )
    return Request(ask=ask, said=said, field=meant or None)


@dataclass
class Score:
    """hits: all as wanted. loose: the ask alone. wrong: another ask. grave: of the false fires,
    those that are sure of something that is not undone by one more word.
    """

    hits: int = 0
    sure: int = 0
    loose: list[str] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    false: list[str] = field(default_factory=list)
    grave: list[str] = field(default_factory=list)
    quiet: int = 0

    def add(self, case: Case, found: tuple[Request, ...], heard: str) -> None:
        told = f"{case.said!r}" + (f" heard as {heard!r}" if heard != case.said else "")
        got = ", ".join(f"{one.ask}{'' if one.sure else ' (unsure)'}" for one in found)
        if case.wanted is None:
            self.quiet += not found
            self.false += [f"{got}: {told}"] if found else []
            self.grave += [f"{got}: {told}" for one in found if one.sure and one.ask in GRAVE]
        elif not found:
            self.missed.append(f"{case.wanted.ask}: {told}")
        elif found[0].ask is not case.wanted.ask or len(found) > 1:
            self.wrong.append(f"{case.wanted.ask} was {got}: {told}")
        elif _meaning(found[0]) == _meaning(case.wanted):
            self.hits += 1
            self.sure += found[0].sure
        else:
            self.loose.append(f"{got}: {told} gives {found[0]!r}")

    def told(self) -> Iterable[str]:
        count = self.hits + len(self.loose) + len(self.missed) + len(self.wrong)
        yield (
            f"of {count} requests {self.hits} hits ({self.sure} of them sure), "
            f"{len(self.loose)} with another detail, {len(self.missed)} missed, "
            f"{len(self.wrong)} taken for another"
        )
        yield (
            f"of {self.quiet + len(self.false)} other utterances {len(self.false)} false fires, "
            f"{len(self.grave)} of them grave and sure"
        )
        for title in ("grave", "false", "wrong", "loose", "missed"):
            yield from (f"  {title}: {line}" for line in getattr(self, title))


def _meaning(one: Request) -> tuple[object, ...]:
    return one.ask, one.field, one.timer, one.seconds, one.text.casefold()


def as_text(said: str) -> Utterance:
    return Utterance(words=tuple(Word(text=word) for word in said.split()))


def narrated() -> Iterator[str]:
    """All lines of the narrations of both sets."""
    for name in ("development", "report"):
        for narration in load(name):
            yield from narration.lines


def only_moves(said: str, found: tuple[Request, ...]) -> bool:
    """Whether "next splice" was told in a narration: it means the same there."""
    moves = any(move.way is Way.SPLICE for move in moves_of(tokens_of(said)))
    return moves and all(one.ask is Ask.NEXT_SPLICE for one in found)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--set", default="development", choices=("development", "report"))
    parser.add_argument("--language", default="en")
    wanted = parser.parse_args()
    score = Score()
    with speaking(vocabulary_of(wanted.language)):
        for case in cases(wanted.set, wanted.language):
            score.add(case, asked(as_text(case.said)).requests, case.said)
        print(*score.told(), sep="\n")
    if wanted.language == "en":
        fires: Counter[str] = Counter()
        count = 0
        for line in narrated():
            count += 1
            found = asked(as_text(line)).requests
            if found and not only_moves(line, found):
                fires[f"{', '.join(one.ask for one in found)}: {line}"] += 1
        print(f"of {count} lines of narration {sum(fires.values())} false fires")
        print(*(f"  {line}" for line in fires), sep="\n")


if __name__ == "__main__":
    main()
