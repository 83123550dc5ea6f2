"""A photo that carries no measurement: why, and what to do. It never leaves ``measure``."""

from __future__ import annotations


class Refusal(Exception):
    """The reason is one line for a person: what is wrong with the photo; what to do."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason
