"""A search line to past jobs: words, ranges in any unit, outcome and dates."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from recorder.archive.home import Home
from recorder.archive.index import Index
from recorder.archive.search import Hit, Range, search
from recorder.errors import BadValue
from recorder.model.fields import FIELDS, Kind
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading

_CONDITION = re.compile(r"\s*(?P<field>\w+)\s*(?P<sign><=|>=|==|=|<|>)\s*(?P<value>.+?)\s*$")
_SAME = 1e-6  # what rounding may add when a value is converted to the canonical unit
_HINT = "write FIELD=VALUE, FIELD>=VALUE or FIELD=LOW..HIGH, for example 'belt_width=60mm..80mm'"


def find(
    home: Home, words: str, conditions: list[str], outcome: str | None,
    since: str | None, until: str | None, limit: int,
) -> tuple[Hit, ...]:  # fmt: skip
    """Newest first. Raises UnknownField, UnknownUnit or BadValue for a wrong condition."""
    ranges = tuple(parse_condition(text) for text in conditions)
    if outcome is not None:
        outcome = str(typed_reading("outcome", outcome, Typed()).value)
    with Index.open(home) as index:
        return search(
            index, words, ranges, outcome=outcome, since=_moment(since, "since"),
            until=_moment(until, "until", end=True), limit=limit,
        )  # fmt: skip


def parse_condition(text: str) -> Range:
    """'top_temperature>=350degF' as a range in the field's canonical unit."""
    match = _CONDITION.fullmatch(text)
    if not match:
        raise BadValue(value=text, field="a condition", hint=_HINT)
    field, sign, wanted = match["field"], match["sign"], match["value"]
    if ".." in wanted and sign in ("=", "=="):
        return _between(text, field, *wanted.split("..", 1))
    value = _value(field, wanted)
    if sign in ("=", "=="):
        if isinstance(value, float):
            return Range(field, low=value - _SAME, high=value + _SAME)
        return Range(field, equals=value)
    if not isinstance(value, float):
        raise BadValue(value=text, field="a condition", hint=f"{field} has no order; use =")
    if sign[0] == ">":
        return Range(field, low=value, low_open=sign == ">")
    return Range(field, high=value, high_open=sign == "<")


def _between(text: str, field: str, low: str, high: str) -> Range:
    if low and low[-1].isdigit():  # in 60..80mm the unit of the end serves both
        low += re.sub(r"^[\d.,\s-]+", "", high)
    ends = _value(field, low), _value(field, high)
    if not (isinstance(ends[0], float) and isinstance(ends[1], float)):
        raise BadValue(value=text, field="a condition", hint=f"{field} has no order; use =")
    return Range(field, low=ends[0], high=ends[1])


def _value(field: str, text: str) -> bool | float | str:
    """A number in the canonical unit, seconds since 1970 for a time, or the word itself."""
    value = typed_reading(field, text, Typed()).value
    if FIELDS[field].kind is Kind.TIME:
        return datetime.fromisoformat(str(value)).timestamp()
    return value


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
        year, month, day = (int(part) if part else None for part in given.groups())
        start = datetime(year or 1, month or 1, day or 1)
    except ValueError as error:
        raise BadValue(value=text, field=name, hint="write a date like 2026-03-09") from error
    if end and day:
        start += timedelta(days=1)
    elif end and month:
        start = start.replace(year=start.year + month // 12, month=month % 12 + 1)
    elif end:
        start = start.replace(year=start.year + 1)
    return start.astimezone()
