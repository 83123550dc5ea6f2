"""How a flow tells what it is doing: one line a stage, and the share of a long one."""

from __future__ import annotations

from typing import Protocol


class Progress(Protocol):
    def stage(self, text: str) -> None:
        """A new stage has begun."""

    def share(self, done: float) -> None:
        """The current stage is done to this share, 0..1."""
