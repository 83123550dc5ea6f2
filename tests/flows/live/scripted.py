"""A session with an ear that follows a script, and a page that feeds it.

A sentence is a second of samples that are its number, and then silence; the ear knows what each
number says. So everything but recognition is the real thing, and its order is known.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import numpy as np

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows.live.happening import Changed, Finished, Happening, Speak
from recorder.flows.live.memory import Memory
from recorder.flows.live.microphone import Taken
from recorder.flows.live.session import LiveSession
from recorder.flows.live.sessions import Sessions
from recorder.live.chunks import Chunk
from recorder.model.job import Job
from recorder.model.measurement import SeamMeasurement
from recorder.model.recording import GapReason
from recorder.model.software import Software
from recorder.model.transcript import Utterance
from recorder.report.identity.identity import Identity
from recorder.settings import SpeakingSettings
from recorder.voice.audio import SAMPLE_RATE_HZ
from tests.flows.firm import SETTINGS
from tests.notes.telling import utterance

RATE_HZ = 8_000
CHUNK = RATE_HZ // 10
PAUSE_S = 0.6
LIMIT_S = 30.0  # generous: for machines that do other things, too
SILENT = SETTINGS.model_copy(update={"speaking": SpeakingSettings(engine="none")})
STRETCH = "5e" * 16


@dataclass(frozen=True)
class Pending:
    start: int
    end: int
    future: Future[Utterance | None] = field(default_factory=Future)


@dataclass
class Script:
    """What the ear hears. sentences: by number, from 1. going: cleared while nothing is to be
    answered. fails: the next hearings fail so. asked: numbers in the order in which they came.
    """

    sentences: list[str] = field(default_factory=list)
    going: threading.Event = field(default_factory=threading.Event)
    fails: list[Exception] = field(default_factory=list)
    missing: Exception | None = None
    asked: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.going.set()

    def listening(
        self, rate_hz: int, prompt: Callable[[], str], early: Callable[[str], None], at: int
    ) -> ScriptedListening:
        return ScriptedListening(self, rate_hz, early, at)

    def model(self) -> str:
        return "script"

    def software(self) -> tuple[Software, ...]:
        if self.missing:
            raise self.missing
        return ()

    def close(self) -> None:
        self.going.set()

    def hear(self, number: int, pending: Pending, early: Callable[[str], None]) -> None:
        self.asked.append(number)
        text = self.sentences[number - 1]
        early(text)
        self.going.wait()
        if self.fails:
            pending.future.set_exception(self.fails.pop(0))
            return
        said = utterance(text, "=", start_s=pending.start / SAMPLE_RATE_HZ) if text else None
        if said:
            said = said.model_copy(update={"end_s": pending.end / SAMPLE_RATE_HZ})
        pending.future.set_result(said)


class ScriptedListening:
    def __init__(self, script: Script, rate_hz: int, early: Callable[[str], None], at: int) -> None:
        self._script, self._rate_hz, self._early, self._at = script, rate_hz, early, at
        self._number = 0
        self._start = self._silent = 0

    @property
    def speaking(self) -> bool:
        return self._number > 0

    def feed(self, pcm: bytes) -> list[Pending]:
        ended = []
        for value in np.frombuffer(pcm, "<i2").tolist():
            if value:
                if not self._number:
                    self._number, self._start = value, self._at
                self._silent = 0
            elif self._number:
                self._silent += 1
                if self._silent >= PAUSE_S * self._rate_hz:
                    ended += self.finish()
            self._at += 1
        return ended

    def finish(self) -> list[Pending]:
        if not self._number:
            return []
        start, end = (round(at / self._rate_hz * SAMPLE_RATE_HZ) for at in (self._start, self._at))
        pending = Pending(start, end)
        number, self._number, self._silent = self._number, 0, 0
        threading.Thread(
            target=self._script.hear, args=(number, pending, self._early), daemon=True
        ).start()
        return [pending]

    def stop(self) -> None:
        self._number = 0


@dataclass
class Page:
    """Feeds one stretch, and remembers what it fed and what happened."""

    session: LiveSession
    name: str = STRETCH
    number: int = 0
    fed: bytes = b""
    happened: list[Happening] = field(default_factory=list)
    changed: threading.Condition = field(default_factory=threading.Condition)

    def __post_init__(self) -> None:
        self.session.listen(self._happens)

    def open(self, after: GapReason = GapReason.FIRST, device: str = "phone") -> int:
        now = datetime.now().astimezone()
        return self.session.stretch(self.name, RATE_HZ, now, device, after)

    def feed(self, values: np.ndarray | list[int]) -> Taken:
        """Samples in chunks of a tenth of a second."""
        pcm = np.asarray(values, "<i2").tobytes()
        taken = Taken(self.number, 0.0, False)
        for at in range(0, len(pcm), 2 * CHUNK):
            piece = pcm[at : at + 2 * CHUNK]
            taken = self.session.take([Chunk(self.name, self.number, len(self.fed) // 2, piece)])
            self.number += 1
            self.fed += piece
        return taken

    def say(self, number: int, pause_s: float = 0.8) -> Taken:
        return self.feed([number] * RATE_HZ + [0] * int(pause_s * RATE_HZ))

    def wait(self, done: Callable[[], object], what: str = "") -> None:
        """Until something that a happening brings about is so."""
        with self.changed:
            assert self.changed.wait_for(done, LIMIT_S), (what, self.session.view().trouble)

    def wait_for_utterances(self, count: int) -> Job:
        self.wait(lambda: len(utterances(self.job)) >= count, f"{count} utterances")
        return self.job

    @property
    def folder(self) -> JobFolder:
        return self.session._folder

    @property
    def job(self) -> Job:
        return self.folder.load()

    @property
    def spoken(self) -> list[str]:
        return [each.text for each in self.happened if isinstance(each, Speak)]

    @property
    def finished(self) -> bool:
        return any(isinstance(each, Finished) for each in self.happened)

    def _happens(self, happening: Happening) -> None:
        with self.changed:
            if not isinstance(happening, Changed):
                self.happened.append(happening)
            self.changed.notify_all()


def utterances(job: Job) -> list[Utterance]:
    return [said for transcript in job.transcripts for said in transcript.utterances]


def texts(job: Job) -> list[str]:
    return [said.text for said in utterances(job)]


def asked_to_finish(memory: Memory) -> Memory:
    return memory.model_copy(update={"after": memory.after.model_copy(update={"finishing": True})})


def refuse_measuring(*_: object, **__: object) -> SeamMeasurement:
    raise AssertionError("no photo is measured here")


@contextmanager
def sessions(
    home: Home, script: Script, key: Identity | None = None, **engines: object
) -> Iterator[Sessions]:
    given = {"admit": lambda path, name: None, "measure": refuse_measuring, **engines}
    made = Sessions(home, SILENT, key, hears=script, **given)  # type: ignore[arg-type]
    try:
        yield made
    finally:
        made.close()


def picture(path: Path) -> Path:
    path.write_bytes(b"a picture, as far as this test goes")
    return path
