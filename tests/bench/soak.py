"""A long session through the runtime, and whether memory or delay grow with it.

``python -m tests.bench.soak`` feeds 60 minutes of synthetic speech (espeak-ng) to a session with
the real recogniser, sentence by sentence, each as soon as the one before was understood: so it runs
as fast as the machine hears. By minute of sound it prints resident memory, the median and the worst
delay from the last chunk of a sentence to its turn saved, and the size of job.json. It exits with 1
when the last sixth needs more memory or time than the second sixth allows (see ``grown``).

``--minutes N``, ``--scripted`` for an ear without an engine (everything else is the real thing),
``--json FILE``.
"""

from __future__ import annotations

import argparse
import io
import json
import statistics
import sys
import tempfile
import threading
import time
import wave
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from recorder.archive.disk.home import Home
from recorder.flows.live.ears import Ears, Hears
from recorder.flows.live.happening import Happening
from recorder.flows.live.session import LiveSession
from recorder.flows.live.sessions import Sessions
from recorder.live.chunks import Chunk
from recorder.model.recording import GapReason
from recorder.settings import SpeakingSettings
from recorder.voice.speak import speech
from tests.flows.live.scripted import SILENT, Script

PAUSE_S = 0.9  # the recogniser waits 0.6 s for the end of a sentence
LIMIT_S = 60.0  # for one sentence
# A person tells many values, and most of them more than once in an hour.
SENTENCES = (
    "Pressure two point two bar.",
    "Top platen one hundred and seventy degrees.",
    "Bottom platen one hundred and sixty eight degrees.",
    "The dwell time was four minutes.",
    "Belt width six hundred millimetres.",
    "Finger length thirty millimetres.",
    "Preheat temperature one hundred degrees.",
    "The plant is loud today and the light is poor.",
    "Cool down temperature sixty degrees.",
    "We wait for the electrician to switch the supply back on.",
    "Ambient temperature nineteen degrees.",
    "The belt runs true and the edges are clean.",
)


@dataclass(frozen=True)
class Minute:
    """number: of the sound, from 1. rss_mb: resident memory at its end. delay_s, worst_s: of its
    sentences. record_kb: size of job.json. threads: of the process.
    """

    number: int
    rss_mb: float
    delay_s: float
    worst_s: float
    record_kb: float
    threads: int


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=int, default=60)
    parser.add_argument("--scripted", action="store_true")
    parser.add_argument("--json", type=Path)
    arguments = parser.parse_args()
    found: list[Minute] = []
    with tempfile.TemporaryDirectory() as folder:
        home = Home.open(Path(folder) / "home")
        for minute in soak(home, arguments.minutes, arguments.scripted):
            found.append(minute)
            print(
                f"minute {minute.number:3}  {minute.rss_mb:7.1f} MB  delay {minute.delay_s:6.3f} s"
                f"  worst {minute.worst_s:6.3f} s  job.json {minute.record_kb:8.0f} kB"
                f"  {minute.threads} threads",
                flush=True,
            )
    if arguments.json:
        arguments.json.write_text(json.dumps([asdict(each) for each in found], indent=1))
    faults = grown(found)
    print("\n".join(faults) or "no growth")
    return 1 if faults else 0


def grown(minutes: Sequence[Minute]) -> list[str]:
    """A line for each thing that the end needs more of than the beginning allows.

    The first sixth is left out, as caches fill there.
    """
    part = max(1, len(minutes) // 6)
    early, late = minutes[part : 2 * part] or minutes[:1], minutes[-part:]
    faults = []
    memory_mb = [max(each.rss_mb for each in some) for some in (early, late)]
    # Readings and words of an hour are some megabytes; each copy that is made of them passes.
    if memory_mb[1] > memory_mb[0] + 80:
        faults.append(f"memory grew from {memory_mb[0]:.0f} to {memory_mb[1]:.0f} MB")
    delay_s = [statistics.median(each.delay_s for each in some) for some in (early, late)]
    if delay_s[1] > 1.2 * delay_s[0] + 0.2:
        faults.append(f"the delay grew from {delay_s[0]:.2f} to {delay_s[1]:.2f} s")
    threads = [max(each.threads for each in some) for some in (early, late)]
    if threads[1] > threads[0]:
        faults.append(f"threads grew from {threads[0]} to {threads[1]}")
    return faults


def soak(home: Home, minutes: int, scripted: bool) -> Iterator[Minute]:
    """Each minute of the session as it ends."""
    rate_hz, sounds = _scripted_sounds() if scripted else _spoken_sounds()
    hears: Hears = Script(list(SENTENCES)) if scripted else Ears(SILENT.speech)
    live = Sessions(home, SILENT, None, hears=hears)
    try:
        page = _Page(live.begin(), rate_hz)
        turn = 0
        for number in range(1, minutes + 1):
            delays = []
            while page.seconds < 60 * number:
                delays.append(page.say(sounds[turn % len(sounds)]))
                turn += 1
            yield Minute(
                number=number,
                rss_mb=_rss_mb(),
                delay_s=statistics.median(delays),
                worst_s=max(delays),
                record_kb=page.record.stat().st_size / 1e3,
                threads=threading.active_count(),
            )
    finally:
        live.close()


class _Page:
    """Feeds sentences; knows how long each took to be understood."""

    def __init__(self, session: LiveSession, rate_hz: int) -> None:
        self._session = session
        self._rate_hz = rate_hz
        self._name = "50" * 16
        self._number = self._first = self._heard = 0
        self._changed = threading.Condition()
        self.record = session._folder.record
        now = datetime.now().astimezone()
        session.stretch(self._name, rate_hz, now, "bench", GapReason.FIRST)
        session.listen(self._happens)

    @property
    def seconds(self) -> float:
        return self._first / self._rate_hz

    def say(self, samples: np.ndarray) -> float:
        step = self._rate_hz // 10
        for at in range(0, samples.size, step):
            piece = samples[at : at + step].tobytes()
            self._session.take([Chunk(self._name, self._number, self._first, piece)])
            self._number += 1
            self._first += len(piece) // 2
        ended = time.monotonic()
        self._heard += 1
        with self._changed:
            if not self._changed.wait_for(self._understood, LIMIT_S):
                raise TimeoutError(self._session.view().trouble or "a sentence was not heard")
        self._session.view()
        return time.monotonic() - ended

    def _understood(self) -> bool:
        heard = sum(len(each.utterances) for each in self._session._turns.job.transcripts)
        if heard < self._heard:
            return False
        self._heard = heard  # a sentence with a breath in it may be two
        return not self._session._hearing.thinking

    def _happens(self, _: Happening) -> None:
        with self._changed:
            self._changed.notify_all()


def _spoken_sounds() -> tuple[int, list[np.ndarray]]:
    sounds, rate_hz = [], 0
    for sentence in SENTENCES:
        with wave.open(io.BytesIO(speech(sentence, SpeakingSettings()))) as wav:
            rate_hz = wav.getframerate()
            said = np.frombuffer(wav.readframes(wav.getnframes()), "<i2")
        sounds.append(np.concatenate([said, np.zeros(int(PAUSE_S * rate_hz), "<i2")]))
    return rate_hz, sounds


def _scripted_sounds() -> tuple[int, list[np.ndarray]]:
    """A sentence is three seconds of its number: see ``tests.flows.live.scripted``."""
    rate_hz = 8_000
    silence = np.zeros(int(PAUSE_S * rate_hz), "<i2")
    said = (np.full(3 * rate_hz, number, "<i2") for number in range(1, len(SENTENCES) + 1))
    return rate_hz, [np.concatenate([each, silence]) for each in said]


def _rss_mb() -> float:
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    raise OSError("no VmRSS: this bench wants Linux")


if __name__ == "__main__":
    sys.exit(main())
