"""The time from the end of speech to the answer on the screen, in real time.

::

    clock ─► a chunk of 0.1 s ─► session: disk, hearing, talk, job ─► happening ─► view
                  └─ how late, how long until it is on the disk?                    └─ how late?
"""

from __future__ import annotations

import os
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
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
from recorder.settings import Settings, SpeakingSettings, SpeechSettings
from recorder.voice import whisper
from recorder.voice.audio import SAMPLE_RATE_HZ
from tests.bench.narrations import Narration
from tests.bench.plant import Condition, in_plant
from tests.bench.voices import VOICES, Recording, Sound, narrate

RATE_HZ = 48_000  # of the page
CHUNK_S = 0.1
_SETTINGS = Settings(speaking=SpeakingSettings(engine="none"))
_STRETCH = "b1" * 16
_UTTERANCE_S = (3.0, 6.0)
_NEAR_S = 0.5  # an utterance begins so near to where its line does
_PATIENCE_S = 60.0  # for what is still to be heard when the sound is over
_TARGETS_S = {50: 1.5, 95: 2.5}


@dataclass
class Times:
    """text, answer: seconds from the end of speech to what the page shows of it, before and after
    it was understood. late: how much after its time the page's clock had each chunk. kept: how
    long until it was on the disk. missed: lines of 3 to 6 s that were never shown.
    """

    text: list[float] = field(default_factory=list)
    answer: list[float] = field(default_factory=list)
    late: list[float] = field(default_factory=list)
    kept: list[float] = field(default_factory=list)
    missed: int = 0
    cpu_s: float = 0.0
    length_s: float = 0.0


def measure(narrations: Sequence[Narration], where: Condition) -> None:
    """Print the figures of one condition."""
    whisper.load(SpeechSettings())  # not in the time of the first utterance
    times = Times()
    for number, narration in enumerate(narrations):
        recording = narrate(narration.lines, VOICES[number % len(VOICES)], narration.name)
        sound = in_plant(recording.sound, where, number)
        run(Recording(sound, recording.utterances), Ears(SpeechSettings()), times)
    _print(where.name, times)


def run(recording: Recording, hears: Hears, times: Times) -> None:
    """One narration through a session of its own, in a home of its own."""
    with tempfile.TemporaryDirectory() as folder:
        sessions = Sessions(Home.open(Path(folder)), _SETTINGS, None, hears)
        page = _Page(sessions.begin())
        cpu_s = time.process_time()
        try:
            began = page.record(_pcm(recording.sound), times)
            page.wait_for_the_last()
        finally:
            times.cpu_s += time.process_time() - cpu_s
            page.close()
            sessions.close()
        times.length_s += recording.sound.size / SAMPLE_RATE_HZ
        for span in recording.utterances:
            if _UTTERANCE_S[0] <= (span[1] - span[0]) / SAMPLE_RATE_HZ <= _UTTERANCE_S[1]:
                page.judge(span, began, times)


class _Page:
    """What a page does: sends chunks on the beat of the clock, and looks whenever it is told."""

    def __init__(self, session: LiveSession) -> None:
        self._session = session
        self._texts: list[float] = []
        self._lines: dict[float, float] = {}  # beginning in the stretch in s -> first seen
        self._news, self._over = threading.Event(), False
        self._unsubscribe: Callable[[], None] = session.listen(self._told)
        self._watcher = threading.Thread(target=self._watch)
        self._watcher.start()

    def record(self, pcm: bytes, times: Times) -> float:
        """When the first sample was spoken, by the monotonic clock."""
        now = datetime.now().astimezone()
        self._session.stretch(_STRETCH, RATE_HZ, now, "bench", GapReason.FIRST)
        count = int(CHUNK_S * RATE_HZ)
        began = time.monotonic()
        for number, first in enumerate(range(0, len(pcm) // 2, count)):
            due = began + (number + 1) * CHUNK_S  # it is there when its end was spoken
            time.sleep(max(0.0, due - time.monotonic()))
            woke = time.monotonic()
            samples = pcm[2 * first : 2 * (first + count)]
            self._session.take([Chunk(_STRETCH, number, first, samples)])
            times.late.append(woke - due)
            times.kept.append(time.monotonic() - woke)
        return began

    def wait_for_the_last(self) -> None:
        """Until all that was said is understood."""
        until = time.monotonic() + _PATIENCE_S
        while time.monotonic() < until and self._session.view().backlog_s > CHUNK_S:
            self._news.wait(CHUNK_S)

    def close(self) -> None:
        self._unsubscribe()
        self._over = True
        self._news.set()
        self._watcher.join()

    def judge(self, span: tuple[int, int], began: float, times: Times) -> None:
        """Enter when a line was shown whose speech is from one sample to another, at 16 kHz."""
        start_s, end_s = (sample / SAMPLE_RATE_HZ for sample in span)
        seen = [at for begins, at in self._lines.items() if abs(begins - start_s) <= _NEAR_S]
        if not seen:
            times.missed += 1
            return
        spoken_at, shown_at = began + end_s, min(seen)
        text_at = min([at for at in self._texts if at > spoken_at] + [shown_at])
        times.text.append(text_at - spoken_at)
        times.answer.append(shown_at - spoken_at)

    def _told(self, _: Happening) -> None:
        self._news.set()

    def _watch(self) -> None:
        while not self._over:
            self._news.wait()
            self._news.clear()
            view = self._session.view()
            now = time.monotonic()
            if view.hearing:
                self._texts.append(now)
            for line in view.lines:
                if line.who == "person" and line.at_s is not None:
                    self._lines.setdefault(line.at_s, now)


def _pcm(sound: Sound) -> bytes:
    at = np.arange(0, sound.size - 1, SAMPLE_RATE_HZ / RATE_HZ)
    fine = np.interp(at, np.arange(sound.size), sound)
    return (np.clip(fine, -1, 1) * 32767).astype("<i2").tobytes()


def _print(name: str, times: Times) -> None:
    load, cpus = os.getloadavg()[0], os.cpu_count()
    print(f"\n{name}: {len(times.answer)} utterances of 3 to 6 s, {times.missed} that were never "
          f"shown; {cpus} CPUs, load {load:.1f}")  # fmt: skip
    for what, took in (("first text", times.text), ("answer", times.answer)):
        print(f"{what:12} after the end of speech: median {np.median(took):.2f} s, "
              f"95 % {np.percentile(took, 95):.2f} s, worst {max(took):.2f} s")  # fmt: skip
    for share, limit_s in _TARGETS_S.items():
        reached = float(np.percentile(times.answer, share))
        print(f"target       {share} % within {limit_s} s: {'yes' if reached <= limit_s else 'NO'}")
    for what, took in (("chunks late", times.late), ("on the disk", times.kept)):
        print(f"{what:12} by at most {max(took) * 1000:.0f} ms, "
              f"99 % within {np.percentile(took, 99) * 1000:.0f} ms")  # fmt: skip
    print(f"CPU          {times.cpu_s / times.length_s:.2f} s for each second of the session",
          flush=True)  # fmt: skip
