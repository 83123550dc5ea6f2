"""Times as the pages show them: by the clock of the machine that serves them."""

from __future__ import annotations

import contextlib
from datetime import datetime


def clock(seconds: float | None) -> str:
    """Minutes and seconds of a recording: 64.2 -> '1:04'; with hours from the first on."""
    if seconds is None:
        return ""
    minutes, rest = divmod(int(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def day(at: datetime) -> str:
    """'26 November 2026'."""
    here = _here(at)
    return f"{here.day} {here:%B %Y}"


def moment(at: datetime) -> str:
    """'26 November 2026, 15:02'."""
    return f"{day(at)}, {_here(at):%H:%M}"


def _here(at: datetime) -> datetime:
    """At the ends of the calendar, where a clock was wrong, as it was told."""
    with contextlib.suppress(OverflowError, ValueError, OSError):
        return at.astimezone()
    return at
