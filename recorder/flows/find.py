"""A search line to past jobs: words, ranges in any unit, outcome and dates."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from recorder.archive.disk.home import Home
from recorder.archive.finding.search import Hit, search
from recorder.archive.index.index import Index
from recorder.errors import BadValue
from recorder.flows.conditions import condition
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading


def find(
    home: Home, words: str, conditions: list[str], outcome: str | None,
    since: str | None, until: str | None, limit: int,
) -> tuple[Hit, ...]:  # fmt: skip
    """Newest first. Raises UnknownField, UnknownUnit or BadValue for a wrong condition."""
    ranges = tuple(condition(text) for text in conditions)
    if outcome is not None:
        outcome = str(typed_reading("outcome", outcome, Typed()).value)
    with Index.open(home) as index:
        return search(
            index, words, ranges, outcome=outcome, since=_moment(since, "since"),
            until=_moment(until, "until", end=True), limit=limit,
        )  # fmt: skip


def _moment(text: str | None, name: str, end: bool = False) -> datetime | None:
    """'2026', '2026-03', '2026-03-09' or a full ISO 8601 time, in the local zone unless it has one.

    The start of that year, month or day; with ``end`` the moment when it is over.
    """
    if text is None:
        return None
    given = re.fullmatch(r"(\d{4})(?:-(\d\d))?(?:-(\d\d))?", text)
    try:
        if not given:
            return datetime.fromisoformat(text).astimezone()
        year, month, day = (int(part or 0) for part in given.groups())
        start = datetime(year, month or 1, day or 1)
        if end and day:
            start += timedelta(days=1)
        elif end and month:
            start = start.replace(year=start.year + month // 12, month=month % 12 + 1)
        elif end:
            start = start.replace(year=start.year + 1)
        return start.astimezone()
    except (ValueError, OverflowError) as error:
        raise BadValue(value=text, field=name, hint="write a date like 2026-03-09") from error
