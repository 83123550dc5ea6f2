"""Where a person begins and ends to speak, while the sound comes in.

The same rules as ``detector.speech_spans`` goes by on a whole file, one frame of the detector at a
time, so that an utterance is the same whether it was heard live or read from disk.

::

    Began ─► Paused ─► Resumed ─► Paused ─► Ended        Began ─► Dropped (too short for speech)

``Paused`` comes after 0.25 s of silence. What would be heard if this were the end is in it, so that
hearing can begin early; ``Ended`` after 0.6 s brings the very same samples, unless speech went on.
Positions are samples at 16 kHz from the start of the stretch.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from recorder.voice import detector
from recorder.voice.audio import SAMPLE_RATE_HZ, Samples
from recorder.voice.level import SlowGain
from recorder.voice.transcribe import LONGEST_S, PAD_S, PAUSE_S
from recorder.voice.windows import Span, Window, window_of, with_before

EARLY_S = 0.25
# What was said before it helps to hear a word, and costs time: the whole must not be longer.
WITH_BEFORE_S = 20.0
_FRAME = detector.FRAME
_PAD = int(PAD_S * SAMPLE_RATE_HZ)
_PAUSE = int(PAUSE_S * SAMPLE_RATE_HZ)
_EARLY = int(EARLY_S * SAMPLE_RATE_HZ)
_SHORTEST = int(detector.SHORTEST_S * SAMPLE_RATE_HZ)
_REMEMBERED = 60 * SAMPLE_RATE_HZ
_LONGEST = int(LONGEST_S * SAMPLE_RATE_HZ) - _FRAME - 2 * _PAD
_BREATH = int(detector.BREATH_S * SAMPLE_RATE_HZ)


@dataclass(frozen=True)
class Began:
    """Speech began. at: its first sample."""

    at: int


@dataclass(frozen=True)
class Resumed:
    """The pause was none. at: where speech goes on."""

    at: int


@dataclass(frozen=True)
class Dropped:
    """What began was no speech. at: where that was known."""

    at: int


@dataclass(frozen=True)
class Paused:
    """window: of the utterance, which is the last in it, with 0.2 s around it and what was said
    before it.
    """

    window: Window


@dataclass(frozen=True)
class Ended:
    """As in ``Paused``; the utterance is over."""

    window: Window


Event = Began | Paused | Resumed | Ended | Dropped


class Endpointer:
    """The utterances of one stretch of sound. Not for several threads at once.

    It keeps the sound of the utterance that is being spoken, and before it what was said shortly
    before: a minute at most.
    """

    def __init__(self, at: int = 0) -> None:
        """``at``: position of the first sample that will be fed."""
        self._detector = detector.Detector()
        self._gain = SlowGain()
        self._kept = np.zeros(0, np.float32)  # sound from self._from on
        self._from = at
        self._next = at  # first sample that the detector has not seen
        self._before: list[Span] = []  # utterances that ended, as far as their sound is kept
        self._free = at  # first sample that belongs to none of them
        self._start: int | None = None  # where speech began
        self._silent: int | None = None  # where silence began after it
        self._told = False  # whether that silence was told as a pause
        self._breath: tuple[int, int | None] | None = None  # the last one: from, to

    @property
    def speaking(self) -> bool:
        """Whether an utterance is open."""
        return self._start is not None

    def feed(self, samples: Samples) -> list[Event]:
        """The events that these samples, shape (n,), lead to, in order."""
        self._kept = np.concatenate([self._kept, samples])
        frames = (self._from + self._kept.size - self._next) // _FRAME
        if not frames:
            return []
        begin = self._next - self._from
        fresh = self._kept[begin : begin + frames * _FRAME]
        events: list[Event] = []
        for speech in self._detector.probabilities(self._gain.raised(fresh)):
            events += self._frame(self._next, float(speech))
            self._next += _FRAME
        self._forget()
        return events

    def finish(self) -> list[Event]:
        """No more sound comes; what is open ends with it."""
        end = self._from + self._kept.size
        events = self.feed(np.zeros(_FRAME - (end - self._next), np.float32))
        self._kept = self._kept[: end - self._from]
        if self._start is None:
            return events
        if end - self._start <= _SHORTEST:
            return [*events, self._drop(end)]
        return [*events, self._end(end)]

    def _frame(self, at: int, speech: float) -> list[Event]:
        if self._start is None:
            if speech < detector.SPEECH:
                return []
            self._start = at
            return [Began(at)]
        if speech >= detector.SPEECH:
            return self._speech(at)
        events = [self._cut(at)] if at - self._start > _LONGEST else []
        if self._start is not None and speech < detector.SILENCE:
            events += self._quiet(at)
        return events

    def _speech(self, at: int) -> list[Event]:
        assert self._start is not None
        events: list[Event] = [Resumed(at)] if self._told else []
        if self._silent is not None and self._breath and self._breath[1] is None:
            self._breath = (self._breath[0], at)
        self._silent, self._told = None, False
        if at - self._start > _LONGEST:
            events.append(self._cut(at))
        return events

    def _quiet(self, at: int) -> list[Event]:
        assert self._start is not None
        if self._silent is None:
            self._silent = at
        lasted = at - self._silent
        if lasted > _BREATH:
            self._breath = (self._silent, None)
        long_enough = self._silent - self._start > _SHORTEST
        if lasted >= _PAUSE:
            return [self._end(self._silent) if long_enough else self._drop(at)]
        if lasted >= _EARLY and not self._told and long_enough:
            self._told = True
            return [Paused(self._window(self._silent))]
        return []

    def _cut(self, at: int) -> Event:
        """A speech without an end is cut at its last breath, or where it is.

        Of a breath that goes on, only what has come by now can lie after the cut.
        """
        if self._breath is None:
            return self._end(at, _FRAME // 2)
        quiet, again = self._breath
        ended = self._end(quiet, at - quiet if again is None else (again - quiet) // 2)
        self._start = again
        return ended

    def _end(self, last: int, room: int = _PAD) -> Event:
        """The utterance whose speech ends before ``last``, with what there is room for after it."""
        ended = Ended(self._window(last, room))
        self._before.append(ended.window.spans[-1])
        self._free = self._before[-1][1]
        self._clear()
        return ended

    def _window(self, last: int, room: int = _PAD) -> Window:
        assert self._start is not None
        start = max(self._start - _PAD, self._free, self._from)
        end = min(last + min(room, _PAD), self._from + self._kept.size)
        spans = with_before((start, end), self._before, WITH_BEFORE_S)
        return window_of(self._kept, spans, _PAD, self._from)

    def _drop(self, at: int) -> Event:
        self._clear()
        return Dropped(at)

    def _clear(self) -> None:
        self._start = self._silent = self._breath = None
        self._told = False

    def _forget(self) -> None:
        """Let go of sound that no utterance can need any more."""
        needed = (self._next if self._start is None else self._start) - _PAD
        self._before = [span for span in self._before if span[0] > self._next - _REMEMBERED]
        first = max(self._from, min([needed, *(start for start, _ in self._before[:1])]))
        self._kept = self._kept[first - self._from :]
        self._from = first
