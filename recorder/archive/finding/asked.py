"""What a search may ask for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from recorder.archive.index.text import Query


@dataclass(frozen=True)
class Range:
    """What one field must lie in.

    low, high: in the canonical unit, seconds since 1970 for a time; None is no bound on that
    side, and without any bound every job fits that has a value. low_open, high_open: whether that
    bound itself is outside. equals: for texts (whatever the case), choices, flags and numbers.
    """

    field: str
    low: float | None = None
    high: float | None = None
    low_open: bool = False
    high_open: bool = False
    equals: str | float | bool | None = None


@dataclass(frozen=True)
class Order:
    """by: newest, oldest, relevance, or the name of a field. descending: of a field.

    By a field a job stands where its lowest value does, descending where its highest does; jobs
    without one come last, newest first. By relevance the newest ``search.RANKED`` matches are
    weighed; without words it is newest first.
    """

    by: str = "newest"
    descending: bool = False


NEWEST = Order()


@dataclass(frozen=True)
class Conditions:
    """All must hold; where none is given, every job fits.

    ranges: each is fulfilled by any value in force, used or measured, of any splice and run.
    outcome: that of the job, which is that of its last splice; for any splice ask
    ``Range("outcome", equals=...)``. since <= created < until.
    """

    query: Query = ()
    ranges: tuple[Range, ...] = ()
    outcome: str | None = None
    since: datetime | None = None
    until: datetime | None = None


ANY = Conditions()
