"""What a live session recorded: stretches of sound without a gap, and the gaps between them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from pydantic import AwareDatetime
from pydantic import Field as Constraint

from recorder.model.base import Value

# Two stretches that follow each other more closely have nothing between them to speak of.
SHORTEST_GAP_S = 0.5
# How a reading tells ("why") that its value came from the clock of the session.
BY_CLOCK = "by the session's clock"


class GapReason(StrEnum):
    """Why the sound stopped before a stretch begins.

    first: nothing was before it. hidden: the device was locked, or its page left for another.
    reloaded: the page was loaded again. switched_off: a person did it. taken_over: another device
    became the microphone. stopped: the microphone or the browser stopped by itself. away: nothing
    came from the device, and it does not say why.
    """

    FIRST = "first"
    HIDDEN = "hidden"
    RELOADED = "reloaded"
    SWITCHED_OFF = "switched_off"
    TAKEN_OVER = "taken_over"
    STOPPED = "stopped"
    AWAY = "away"


WHY_SILENT = {
    GapReason.FIRST: "why is not told",
    GapReason.HIDDEN: "the device was locked, or showed something else",
    GapReason.RELOADED: "the page was loaded again",
    GapReason.SWITCHED_OFF: "a person switched the microphone off",
    GapReason.TAKEN_OVER: "another device became the microphone",
    GapReason.STOPPED: "the microphone stopped by itself",
    GapReason.AWAY: "nothing came from the device",
}


class Recording(Value):
    """One stretch of sound without a gap, from one microphone.

    file: its name, by which transcripts and stage marks call it. began_at: its first sample, by
    the clock of the machine that keeps it. samples: how many there are, at rate_hz. device: whose
    microphone. after: why the stretch before it had ended.
    """

    file: str
    began_at: AwareDatetime
    samples: int = Constraint(ge=0)
    rate_hz: int = Constraint(ge=8_000, le=384_000)
    device: str = ""
    after: GapReason = GapReason.FIRST

    @property
    def duration_s(self) -> float:
        return self.samples / self.rate_hz

    @property
    def ended_at(self) -> datetime:
        return self.began_at + timedelta(seconds=self.duration_s)

    def moment(self, at_s: float) -> datetime:
        """When, by the clock, something at ``at_s`` seconds of it was."""
        return self.began_at + timedelta(seconds=at_s)


class Gap(Value):
    """A time of a session from which there is no sound. file: of the stretch after it."""

    file: str
    began_at: AwareDatetime
    ended_at: AwareDatetime
    reason: GapReason

    @property
    def seconds(self) -> float:
        return (self.ended_at - self.began_at).total_seconds()

    @property
    def why(self) -> str:
        """The reason in words."""
        return WHY_SILENT[self.reason]


def gaps(recordings: Sequence[Recording]) -> tuple[Gap, ...]:
    """The gaps between the stretches of one session, in order."""
    ordered = sorted(recordings, key=lambda each: each.began_at)
    return tuple(
        Gap(file=after.file, began_at=before.ended_at, ended_at=after.began_at, reason=after.after)
        for before, after in pairwise(ordered)
        if (after.began_at - before.ended_at).total_seconds() >= SHORTEST_GAP_S
    )
