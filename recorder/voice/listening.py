"""One stretch of sound to utterances while it comes in: the narrated path of live hearing.

::

    chunk ─► Stream ─► Endpointer ─► 0.25 s of silence: heard early ─► 0.6 s: it was the end
                                                        └─ speech goes on: thrown away

What is heard early is heard from the same samples as after the end; it is only sooner.
"""

from __future__ import annotations

from collections.abc import Callable

from recorder.voice.audio import SAMPLE_RATE_HZ
from recorder.voice.endpoint import Dropped, Ended, Endpointer, Event, Paused, Resumed
from recorder.voice.live import Ear, Early, Pending
from recorder.voice.stream import Stream


class Listening:
    """One stretch, chunk by chunk. Not for several threads at once."""

    def __init__(
        self,
        rate_hz: int,
        ear: Ear,
        prompt: Callable[[], str],
        early: Early | None = None,
        at: int = 0,
    ) -> None:
        """``prompt`` is asked for the likely words whenever something is to be heard. ``early``
        gets the first text of an utterance that has ended, on a thread that must not wait.
        ``at``: sample of the stretch, at its own rate, that will be fed first. Raises ValueError
        for a rate that no microphone has.
        """
        self._stream = Stream(rate_hz)
        self._endpointer = Endpointer(at * SAMPLE_RATE_HZ // rate_hz)
        self._ear = ear
        self._prompt = prompt
        self._early = early
        self._ahead: Pending | None = None

    @property
    def speaking(self) -> bool:
        """Whether a person speaks, or has not been silent for long enough."""
        return self._endpointer.speaking

    def feed(self, pcm: bytes) -> list[Pending]:
        """The utterances that end in this chunk, mono int16 little-endian, in order; each is being
        heard already.
        """
        return self._follow(self._endpointer.feed(self._stream.feed(pcm)))

    def finish(self) -> list[Pending]:
        """No more comes; the utterances that end with it."""
        last = self._endpointer.feed(self._stream.flush())
        return self._follow([*last, *self._endpointer.finish()])

    def stop(self) -> None:
        """Nothing more of it is wanted; what was heard ahead of its end is thrown away."""
        self._leave()

    def _follow(self, events: list[Event]) -> list[Pending]:
        ended = []
        for event in events:
            if isinstance(event, Ended):
                ended.append(self._end(event))
            elif isinstance(event, Resumed | Dropped):
                self._leave()
            elif isinstance(event, Paused) and event is events[-1] and self._ear.idle:
                # An ear that is behind hears what is sure first.
                self._ahead = self._ear.begin(event.window, self._prompt())
        return ended

    def _end(self, event: Ended) -> Pending:
        ahead, self._ahead = self._ahead, None
        if ahead and ahead.window.spans == event.window.spans:
            if self._early:
                ahead.show(self._early)
            return ahead
        if ahead:
            ahead.drop()
        return self._ear.begin(event.window, self._prompt(), self._early)

    def _leave(self) -> None:
        if self._ahead:
            self._ahead.drop()
        self._ahead = None
