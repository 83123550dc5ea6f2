"""The number of a job in the index: it sorts by time, so that newest-first needs no sorting."""

from __future__ import annotations

import zlib
from collections.abc import Container
from datetime import UTC, datetime, timedelta

_START = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_SLOTS = 1024  # keys of one microsecond
# A clock that is centuries wrong: its jobs keep an end of the order, and 64 bits are enough.
_FURTHEST = 2**63 // _SLOTS - 2**20


def in_utc(at: datetime) -> datetime:
    """The same moment; the first or the last one there is where a clock was wrong beyond these."""
    try:
        return at.astimezone(UTC)
    except (OverflowError, ValueError, OSError):
        return (datetime.max if at.year > _START.year else datetime.min).replace(tzinfo=UTC)


def first_key(at: datetime) -> int:
    """The lowest key that a job of that moment can have."""
    microseconds = (in_utc(at) - _START) // _MICROSECOND
    return max(-_FURTHEST, min(microseconds, _FURTHEST)) * _SLOTS


def free_key(at: datetime, job_id: str, taken: Container[int]) -> int:
    """A key for a job of that moment that no other has."""
    key = first_key(at) + zlib.crc32(job_id.encode("utf-8", "replace")) % _SLOTS
    while key in taken:
        key += 1
    return key
