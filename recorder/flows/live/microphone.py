"""The sound that pages send, in stretches and chunks, and which microphone is in use."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from pydantic import ValidationError

from recorder.archive.jobs.sound import Head
from recorder.archive.jobs.sounds import Sounds
from recorder.errors import SeamnoteError, SoundRefused
from recorder.flows.live.ending import Ending
from recorder.flows.live.hearing import Hearing
from recorder.flows.live.turns import Turns
from recorder.live.chunks import Chunk
from recorder.model.recording import GapReason

_AWAY_S = 3.0  # a microphone from which nothing came for so long is none
_LONGEST_DEVICE = 80  # characters
_PLACE_LIMIT = 1 << 48  # no recording has more samples


@dataclass(frozen=True)
class Taken:
    """next: number of the chunk that is wanted next in that stretch; all before it are on the
    disk. saved_s: seconds of sound of the whole session that are. wanted_again: a chunk came
    before its turn, so that the page must send again from ``next``.
    """

    next: int
    saved_s: float
    wanted_again: bool


class Microphone:
    """Thread-safe. The newest stretch is the one of the microphone in use; what older ones still
    bring is kept like all else.
    """

    def __init__(
        self,
        sounds: Sounds,
        turns: Turns,
        ending: Ending,
        hearing: Hearing,
        changed: Callable[[], None],
    ) -> None:
        self._sounds, self._turns, self._ending = sounds, turns, ending
        self._hearing, self._changed = hearing, changed
        self._name = ""  # of the stretch in use, '' without
        self._came_at = 0.0  # by the monotonic clock

    @property
    def device(self) -> str:
        """Name of the device in use, '' without."""
        name = self._name  # another thread may empty it
        if not name or time.monotonic() - self._came_at > _AWAY_S:
            return ""
        return self._sounds.named(name).head.device or "microphone"

    def open(
        self, name: str, rate_hz: int, began_at: datetime, device: str, after: GapReason
    ) -> int:
        """See ``LiveSession.stretch``."""
        self._ending.need_open()
        shown = " ".join(device.split())[:_LONGEST_DEVICE]
        try:
            began_at = min(max(began_at, self._turns.job.created_at), datetime.now().astimezone())
            head = Head(name=name, rate_hz=rate_hz, began_at=began_at, device=shown, after=after)
        except (ValidationError, TypeError) as error:  # a time without a zone
            raise SoundRefused(detail="the page tells of no such microphone") from error
        known = len(self._sounds.all())
        sound = self._sounds.begin(head)
        if len(self._sounds.all()) > known:
            with contextlib.suppress(SeamnoteError):  # the next utterance brings it into the job
                self._turns.change(
                    lambda job: job.model_copy(update={"recordings": self._sounds.recordings()})
                )
        if sound is self._sounds.all()[-1]:
            self._name, self._came_at = name, time.monotonic()
            self._hearing.over(but=name)
            self._changed()
        return sound.next

    def take(self, chunks: Sequence[Chunk]) -> Taken:
        """See ``LiveSession.take``."""
        with self._ending.taking():
            sound = self._sounds.named(chunks[0].stretch)
            in_order = sound.append(chunks)
        if sound.head.name == self._name:
            self._came_at = time.monotonic()
        self._hearing.poke()
        return Taken(next=sound.next, saved_s=self._sounds.seconds, wanted_again=not in_order)

    def gap(self) -> None:
        """It stops now."""
        self._name = ""
        self._hearing.over()
        self._changed()

    def place(self, sample: int, stretch: str) -> tuple[int, int]:
        """A place in a stretch as a page told it, and the rate. Raises SoundRefused."""
        rate_hz = self._sounds.named(stretch).head.rate_hz
        return max(0, min(sample, _PLACE_LIMIT)), rate_hz
