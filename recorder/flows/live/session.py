"""One live session: everything that a page can do to it, and what it tells."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from recorder.flows.live.happening import Happening
from recorder.live.chunks import Chunk
from recorder.live.view import View
from recorder.model.recording import GapReason
from recorder.notes.requests.request import Request


@dataclass(frozen=True)
class Taken:
    """next: number of the chunk that is wanted next in that stretch; all before it are on the
    disk. saved_s: seconds of sound of the whole session that are. wanted_again: a chunk came
    before its turn, so that the page must send again from ``next``.
    """

    next: int
    saved_s: float
    wanted_again: bool


class LiveSession:
    """Thread-safe. What can wait for the disk is marked so; all else returns at once."""

    job_id: str

    def stretch(
        self, name: str, rate_hz: int, began_at: datetime, device: str, after: GapReason
    ) -> int:
        """Open a stretch of sound; the number of the chunk wanted next. Waits for the disk.

        name: 32 hex digits, made by the page. Known ones are only looked up. Raises
        OutputUnwritable, SoundRefused.
        """
        raise NotImplementedError

    def take(self, chunks: Sequence[Chunk]) -> Taken:
        """Keep chunks of one stretch, in order; on return they are on the disk. Waits for it.

        Those that came before are passed over. Raises OutputUnwritable, SoundRefused.
        """
        raise NotImplementedError

    def speaking(self, name: str, from_sample: int, stretch: str) -> None:
        """The page begins to speak ``name`` at this sample of the stretch."""
        raise NotImplementedError

    def spoken(self, name: str, to_sample: int, stretch: str) -> None:
        """It has ended to speak, or was interrupted."""
        raise NotImplementedError

    def interrupt(self) -> None:
        """A person cut the recorder off."""
        raise NotImplementedError

    def say(self, name: str) -> bytes:
        """WAV of something that the session wants spoken. Takes a moment. Raises KeyError for a
        name that it never gave, EngineMissing.
        """
        raise NotImplementedError

    def gap(self, reason: GapReason) -> None:
        """The microphone stops now."""
        raise NotImplementedError

    def photo(self, path: Path, name: str) -> None:
        """Keep a photo as original, then measure it aside. Waits for the disk."""
        raise NotImplementedError

    def confirm(self, place: int) -> None:
        """A touch says yes to the reading at this place of the job."""
        raise NotImplementedError

    def replace(self, place: int, text: str) -> None:
        """A person types another value for it. Raises BadValue."""
        raise NotImplementedError

    def enter(self, field: str, text: str) -> None:
        """A person types a value. Raises UnknownField, BadValue."""
        raise NotImplementedError

    def later(self) -> None:
        """The open question is to be asked at the end."""
        raise NotImplementedError

    def ask(self, request: Request) -> None:
        """A button that asks what the voice could ask."""
        raise NotImplementedError

    def view(self) -> View:
        raise NotImplementedError

    def listen(self, call: Callable[[Happening], None]) -> Callable[[], None]:
        """Be told what happens, in the session's own threads; the answer ends that."""
        raise NotImplementedError
