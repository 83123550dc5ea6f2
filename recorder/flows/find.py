"""A search line to past jobs: words, ranges in any unit, outcome and dates."""

from __future__ import annotations

import re
from datetime import datetime

from recorder.archive.home import Home
from recorder.archive.index import Index
from recorder.archive.search import Hit, Range, search
from recorder.errors import BadValue
from recorder.model.fields import FIELDS
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading

_CONDITION = re.compile(r"\s*(?P<field>\w+)\s*(?P<sign><=|>=|==|=|<|>)\s*(?P<value>.+?)\s*$")
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
            index, words, ranges, outcome=outcome, since=parse_date(since, "since"),
            until=parse_date(until, "until"), limit=limit,
        )  # fmt: skip


def parse_condition(text: str) -> Range:
    """'top_temperature>=350degF' as a range in the field's canonical unit."""
    match = _CONDITION.fullmatch(text)
    if not match:
        raise BadValue(value=text, field="a condition", hint=_HINT)
    field, sign, value = match["field"], match["sign"], match["value"]
    if ".." in value and sign in ("=", "=="):
        low, high = value.split("..", 1)
        if low and low[-1].isdigit():  # 60..80mm: the unit of the end serves both
            low += re.sub(r"^[\d.,\s-]+", "", high)
        return Range(field=field, low=_value(field, low), high=_value(field, high))
    wanted = _value(field, value)
    ordered = isinstance(wanted, float)
    if sign in ("=", "=="):
        return Range(field=field, low=wanted, high=wanted)
    if not ordered:
        raise BadValue(value=text, field="a condition", hint=f"{field} has no order; use =")
    if sign[0] == ">":
        return Range(field=field, low=wanted, low_open=sign == ">")
    return Range(field=field, high=wanted, high_open=sign == "<")


def _value(field: str, text: str) -> bool | float | str:
    unit = FIELDS[field].unit if field in FIELDS else None
    if unit and re.fullmatch(r"[\d.,\s-]+", text):
        raise BadValue(value=text.strip(), field=field, hint=f"add the unit, e.g. {text}{unit}")
    return typed_reading(field, text, Typed()).value


def parse_date(text: str | None, name: str) -> datetime | None:
    """'2026', '2026-03', '2026-03-09' or a full ISO 8601 time; local zone when none is given."""
    if text is None:
        return None
    padded = text + "-01-01"[len(text) - 4 :] if re.fullmatch(r"\d{4}(-\d\d)?", text) else text
    try:
        parsed = datetime.fromisoformat(padded)
    except ValueError as error:
        raise BadValue(value=text, field=name, hint="write a date like 2026-03-09") from error
    return parsed.astimezone() if parsed.tzinfo is None else parsed
