"""The time from the end of speech to the answer, in real time.

::

    clock ─► a chunk of 0.1 s ─► disk, fsync twice a second ─► hearing thread ─► Listening ─► ear
                  └─ how late?                                     Conversation ◄─ utterance ─┘
"""

from __future__ import annotations

import os
import queue
import tempfile
import threading
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

import numpy as np

from recorder.model.reading import Reading
from recorder.notes.conversation import Conversation
from recorder.notes.requests.requests import asked
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.audio import SAMPLE_RATE_HZ
from recorder.voice.listening import Listening
from recorder.voice.live import Ear, Pending
from tests.bench.narrations import Narration
from tests.bench.plant import Condition, in_plant
from tests.bench.voices import VOICES, Recording, narrate

RATE_HZ = 48_000  # of the page
CHUNK_S = 0.1
_SYNC_S = 0.5
_UTTERANCE_S = (3.0, 6.0)
_WITHIN_S = 0.5  # an utterance ends so near to where its line does
_TARGETS_S = {50: 1.5, 95: 2.5}


@dataclass
class Times:
    """Seconds from the end of speech. late: how much after its time the recording got hold of each
    chunk. written: how long the disk took then. missed: lines of 3 to 6 s of which no utterance
    ended there.
    """

    text: list[float] = field(default_factory=list)
    answer: list[float] = field(default_factory=list)
    late: list[float] = field(default_factory=list)
    written: list[float] = field(default_factory=list)
    missed: int = 0
    cpu_s: float = 0.0
    length_s: float = 0.0


def measure(narrations: Sequence[Narration], where: Condition) -> None:
    """Print the figures of one condition."""
    whisper.load(SpeechSettings())  # not in the time of the first utterance
    ear, times = Ear(SpeechSettings()), Times()
    try:
        for number, narration in enumerate(narrations):
            recording = narrate(narration.lines, VOICES[number % len(VOICES)], narration.name)
            sound = in_plant(recording.sound, where, number)
            _Session(ear, recording, times).run(sound)
    finally:
        ear.close()
    _print(where.name, times)


class _Session:
    """One narration in real time."""

    def __init__(self, ear: Ear, recording: Recording, times: Times) -> None:
        self._recording, self._times = recording, times
        self._listening = Listening(RATE_HZ, ear, lambda: hearing_prompt(()), self._early)
        self._conversation = Conversation()
        self._model = ear.model
        self._known: tuple[Reading, ...] = ()
        self._chunks: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._ended: queue.SimpleQueue[Pending | None] = queue.SimpleQueue()
        self._texts: queue.SimpleQueue[float] = queue.SimpleQueue()
        self._began = 0.0

    def run(self, sound: np.ndarray) -> None:
        at = np.arange(0, sound.size - 1, SAMPLE_RATE_HZ / RATE_HZ)
        fine = np.interp(at, np.arange(sound.size), sound)
        pcm = (np.clip(fine, -1, 1) * 32767).astype("<i2").tobytes()
        threads = [threading.Thread(target=work) for work in (self._listen, self._answer)]
        cpu_s = time.process_time()
        for thread in threads:
            thread.start()
        with tempfile.TemporaryFile() as disk:
            self._record(pcm, disk)
        self._chunks.put(None)
        for thread in threads:
            thread.join()
        self._times.cpu_s += time.process_time() - cpu_s
        self._times.length_s += len(pcm) / 2 / RATE_HZ

    def _record(self, pcm: bytes, disk: BinaryIO) -> None:
        """What must never wait for the hearing."""
        size = 2 * int(CHUNK_S * RATE_HZ)
        self._began = time.monotonic()
        for number, first in enumerate(range(0, len(pcm), size)):
            due = self._began + (number + 1) * CHUNK_S  # a chunk is there when its end was spoken
            time.sleep(max(0.0, due - time.monotonic()))
            self._times.late.append((began := time.monotonic()) - due)
            chunk = pcm[first : first + size]
            disk.write(chunk)
            if number % round(_SYNC_S / CHUNK_S) == 0:
                disk.flush()
                os.fsync(disk.fileno())
            self._chunks.put(chunk)
            self._times.written.append(time.monotonic() - began)

    def _listen(self) -> None:
        while (chunk := self._chunks.get()) is not None:
            for pending in self._listening.feed(chunk):
                self._ended.put(pending)
        for pending in self._listening.finish():
            self._ended.put(pending)
        self._ended.put(None)

    def _early(self, _: str) -> None:
        self._texts.put(time.monotonic())

    def _answer(self) -> None:
        missing = {end: end - start for start, end in self._recording.utterances}
        while (pending := self._ended.get()) is not None:
            utterance = pending.result()
            text_at = self._texts.get()
            if utterance is not None and asked(utterance).rest is not None:
                found = self._conversation.hear("a", utterance, self._model, self._known)
                self._known = (*self._known, *found.readings)
            now = time.monotonic()
            end = _nearest(pending.end, missing)
            if end is None:
                continue
            if _counts(missing.pop(end)):
                spoken_at = self._began + end / SAMPLE_RATE_HZ
                self._times.text.append(text_at - spoken_at)
                self._times.answer.append(now - spoken_at)
        self._times.missed += sum(_counts(length) for length in missing.values())


def _counts(samples: int) -> bool:
    return _UTTERANCE_S[0] <= samples / SAMPLE_RATE_HZ <= _UTTERANCE_S[1]


def _nearest(end: int, ends: Iterable[int]) -> int | None:
    """Which of the true ends an utterance has, in samples at 16 kHz."""
    near = [e for e in ends if abs(end - e) <= _WITHIN_S * SAMPLE_RATE_HZ]
    return min(near, key=lambda e: abs(end - e), default=None)


def _print(name: str, times: Times) -> None:
    load = os.getloadavg()[0]
    cpus = os.cpu_count()
    print(f"\n{name}: {len(times.answer)} utterances of 3 to 6 s, {times.missed} without an end "
          f"of their own; {cpus} CPUs, load {load:.1f}")  # fmt: skip
    for what, took in (("first text", times.text), ("readings", times.answer)):
        print(f"{what:12} after the end of speech: median {np.median(took):.2f} s, "
              f"95 % {np.percentile(took, 95):.2f} s, worst {max(took):.2f} s")  # fmt: skip
    for share, limit_s in _TARGETS_S.items():
        reached = float(np.percentile(times.answer, share))
        print(f"target       {share} % within {limit_s} s: {'yes' if reached <= limit_s else 'NO'}")
    for what, took in (("recording", times.late), ("disk", times.written)):
        late = "late by" if what == "recording" else "took"
        print(f"{what:12} {late} at most {max(took) * 1000:.0f} ms, "
              f"99 % within {np.percentile(took, 99) * 1000:.0f} ms")  # fmt: skip
    print(f"CPU          {times.cpu_s / times.length_s:.2f} s for each second of the session")
