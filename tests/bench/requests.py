"""How many requests are understood, and how many fire that nobody made.

``python -m tests.bench.requests [--set report] [--language en] [--spoken] [--conditions clean,15]``
reads the requests and the talk beside them from ``sets/requests_*.toml``, and as text also each
request inside of sentences that ask nothing and every narration of the bench; ``--spoken`` has the
set said by synthetic voices and heard by the bundled model. It prints hits, misses, what was taken
for something else, and each false fire in full.

Phrases may be changed for 'development'; figures are quoted from 'report' alone.
"""

from __future__ import annotations

import argparse
import hashlib
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from recorder.model.transcript import Hearing, Utterance, Word
from recorder.notes.languages import vocabulary_of
from recorder.notes.names.movement import Way, moves_of
from recorder.notes.requests.request import Ask, Request, Timer
from recorder.notes.requests.requests import asked
from recorder.notes.words.lexer import tokens_of
from recorder.notes.words.speaking import speaking
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.level import audible
from tests.bench.narrations import SETS, load
from tests.bench.plant import Condition, condition, in_plant
from tests.bench.voices import VOICES, narrate

# What cannot be undone by one more word, or stops the taking down.
GRAVE = {Ask.FINISH, Ask.UNDO, Ask.NEXT_SPLICE, Ask.PAUSE, Ask.KEEP_RECIPE}
_TAKES_REST = {Ask.NOTE, Ask.KEEP_RECIPE}


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
    if ask in _TAKES_REST:
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


CARRIERS = {
    "en": (
        "He said {}.", "They want us to {}.", "The customer asked me to {}.", "I told Jan to {}.",
        "Tomorrow we {}.", "We always {} before lunch.", "Do not {}.", "Never {} on this press.",
        "If the light goes out we {}.", "We had to {} because the plant stopped.",
        "Tom, {}.", "When you are ready {}.", "Last week I forgot to {}.", "{} said the foreman.",
        "{} is what it says on the sheet.", "{} when the hooter goes.", "Before you {} check it.",
        "I will {} later.", "Nobody may {} here.",
    ),
    "de": (
        "Er sagte {}.", "Wir sollen {}.", "Morgen {} wir.", "Der Kunde will {}.",
        "Auf dem Blatt steht {}.",
        "Wenn das Licht ausgeht {}.", "Tom {}.", "{} sagte der Meister.", "Niemals {}.",
        "{} wenn die Hupe geht.", "Bevor du {} schau nach.",
    ),
}  # fmt: skip
_NOTES = ("{} ",)  # what follows a note, or a name, is part of it


def carried(case: Case, language: str) -> Iterator[str]:
    """The words of a request inside of sentences that ask nothing."""
    if case.wanted is None:
        return
    words = case.said.rstrip(".?!")
    for carrier in CARRIERS[language]:
        if case.wanted.ask in _TAKES_REST and carrier.startswith(_NOTES):
            continue
        yield carrier.format(words if carrier.startswith("{}") else words[0].lower() + words[1:])


def as_text(said: str) -> Utterance:
    return Utterance(words=tuple(Word(text=word) for word in said.split()))


def narrated() -> Iterator[str]:
    """All lines of the narrations of both sets."""
    for name in ("development", "report"):
        for narration in load(name):
            yield from narration.lines


def fires_in_narration(line: str) -> bool:
    """Whether a line is taken for a request; not for "next splice", which means the same there."""
    found = asked(as_text(line)).requests
    moves = any(move.way is Way.SPLICE for move in moves_of(tokens_of(line)))
    return any(one.ask is not Ask.NEXT_SPLICE or not moves for one in found)


def spoken(cases: list[Case], where: Condition, folder: Path | None) -> Iterator[Utterance]:
    """Each said by one of the voices in turn and heard by the bundled model. ``folder`` keeps what
    was heard.
    """
    recogniser = whisper.load(SpeechSettings())
    for number, case in enumerate(cases):
        kept = folder and folder / f"{where.name.replace(' ', '')}-{_name(case.said)}.json"
        if kept and kept.is_file():
            yield Utterance.model_validate_json(kept.read_text(encoding="utf-8"))
            continue
        voice = VOICES[number % len(VOICES)]
        sound = in_plant(narrate((case.said,), voice, case.said).sound, where, number)
        first, *others = recogniser.hear(audible(sound.astype(np.float32)), hearing_prompt(()))
        heard = Utterance(
            words=first.words,
            others=tuple(Hearing(way=other.way, words=other.words) for other in others),
            no_speech=round(first.no_speech, 4),
        )
        if kept:
            kept.parent.mkdir(parents=True, exist_ok=True)
            kept.write_text(heard.model_dump_json(), encoding="utf-8")
        yield heard


def _name(said: str) -> str:
    return hashlib.sha256(said.encode()).hexdigest()[:24]


def _as_heard(utterance: Utterance) -> str:
    return " | ".join((utterance.text, *(other.text for other in utterance.others)))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--set", default="development", choices=("development", "report"))
    parser.add_argument("--language", default="en")
    parser.add_argument("--spoken", action="store_true", help="through voices and recogniser")
    parser.add_argument("--conditions", default="clean,fan15", help="of the spoken ones")
    parser.add_argument("--transcripts", type=Path, help="a folder that keeps what was heard")
    wanted = parser.parse_args()
    told = list(cases(wanted.set, wanted.language))
    if wanted.spoken:
        for where in map(condition, wanted.conditions.split(",")):
            score = Score()
            heard = spoken(told, where, wanted.transcripts)
            for case, utterance in zip(told, heard, strict=True):
                score.add(case, asked(utterance).requests, _as_heard(utterance))
            print(where.name, *score.told(), sep="\n", flush=True)
        return
    score = Score()
    with speaking(vocabulary_of(wanted.language)):
        for case in told:
            score.add(case, asked(as_text(case.said)).requests, case.said)
        print(*score.told(), sep="\n")
        count, fires = 0, []
        for case in told:
            for said in carried(case, wanted.language):
                count += 1
                found = asked(as_text(said)).requests
                fires += [f"{', '.join(one.ask for one in found)}: {said}"] if found else []
        inside = f"of {count} requests inside of other sentences {len(fires)} fire"
        print(inside, *fires, sep="\n  ")
    if wanted.language == "en":
        lines = list(narrated())
        fires = [line for line in lines if fires_in_narration(line)]
        print(f"of {len(lines)} lines of narration {len(fires)} false fires", *fires, sep="\n  ")


if __name__ == "__main__":
    main()
