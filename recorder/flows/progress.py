"""How a flow tells what it is doing: one line a stage, and the share of a long one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from recorder.model.plural import counted


class Progress(Protocol):
    def stage(self, text: str) -> None:
        """A new stage has begun."""

    def share(self, done: float) -> None:
        """The current stage is done to this share, 0..1."""


class Bytes:
    """Called with the number of bytes that were dealt with, it tells the share of all of them."""

    def __init__(self, progress: Progress, total_bytes: int) -> None:
        self._progress = progress
        self._total_bytes = max(1, total_bytes)
        self._done_bytes = 0
        self._percent = -1

    def __call__(self, more_bytes: int) -> None:
        self._done_bytes += more_bytes
        percent = min(100, 100 * self._done_bytes // self._total_bytes)
        if percent != self._percent:  # small files are many, and a screen is slow
            self._percent = percent
            self._progress.share(percent / 100)


class Silent:
    """For a flow that nobody watches."""

    def stage(self, text: str) -> None:
        pass

    def share(self, done: float) -> None:
        pass


def rebuilding(progress: Progress | None) -> Callable[[int, int], None] | None:
    """For ``Index.open``: told from the first job on, since mostly the index is there."""
    if progress is None:
        return None

    def tell(done: int, every: int) -> None:
        if done == 1:
            progress.stage(f"reading {counted(every, 'job')} into the index")
        progress.share(done / every)

    return tell
