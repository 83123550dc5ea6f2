"""The numbers of the jobs that fulfil everything, in the order that is wanted.

The time is in the number, so that jobs come newest first out of the text index, or out of the
table of jobs where no words are asked for, and reading ends when there are enough.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Select, func, select

from recorder.archive.finding.asked import Conditions, Order
from recorder.archive.finding.fields import known_field
from recorder.archive.finding.ranges import FEW, OTHERS, VERY_FEW, is_used, jobs_within, value_of
from recorder.archive.index.index import Index
from recorder.archive.index.keys import first_key
from recorder.archive.index.schema import JOBS, VALUES
from recorder.model.fields import Field

BY_TIME = ("newest", "oldest")
BY_NO_FIELD = (*BY_TIME, "relevance")
RANKED = 20_000  # matches that are weighed: all of 100,000 would take half a second
_MORE_VALUES = 4  # times as many values as jobs are read first
_JOB = JOBS.alias("job")


def keys(index: Index, conditions: Conditions, order: Order, limit: int) -> list[int]:
    """Raises UnknownField, BadValue, and what the index raises."""
    if order.by in BY_NO_FIELD:
        return _numbers(index, chosen(index, conditions, order).limit(limit))
    return _by_field(index, conditions, known_field(order.by), order.descending, limit)


def marked_keys(
    index: Index, conditions: Conditions, order: Order, limit: int
) -> dict[int, list[str]]:
    """The same by time, and with words, each with the lines of its marked text."""
    found = chosen(index, conditions, order, marked=True).limit(limit)
    return {key: index.texts.apart(text) for key, text in index.database.rows(found)}


def chosen(index: Index, conditions: Conditions, order: Order, marked: bool = False) -> Select[Any]:
    """All of them, in an order by no field; with their marked texts in an order by time."""
    if order.by == "relevance" and conditions.query:
        return _by_relevance(index, conditions)
    found = _fulfilling(index, conditions, marked)
    key = found.selected_columns[0]
    return found.order_by(key.asc() if order.by == "oldest" else key.desc())


def number_of_keys(index: Index, conditions: Conditions) -> int:
    found = _fulfilling(index, conditions).subquery()
    return int(index.database.rows(select(func.count()).select_from(found))[0][0])


def _numbers(index: Index, chosen: Select[Any]) -> list[int]:
    return [row[0] for row in index.database.rows(chosen)]


def _fulfilling(index: Index, conditions: Conditions, marked: bool = False) -> Select[Any]:
    if not conditions.query:
        return _selected(index, conditions, JOBS.c.key, way=FEW)
    matching = index.texts.matching(conditions.query)
    chosen = _selected(index, conditions, matching.key, way=min(matching.one_by_one, VERY_FEW))
    chosen = chosen.where(matching.condition)
    return chosen.add_columns(matching.marked) if marked else chosen


def _selected(
    index: Index, conditions: Conditions, key: ColumnElement[int], way: int = 0
) -> Select[Any]:
    """All conditions but that on the text. key: the column with the number of the job. way: see
    ``jobs_within``.
    """
    chosen = select(key)
    if conditions.since:
        chosen = chosen.where(key >= first_key(conditions.since))
    if conditions.until:
        chosen = chosen.where(key < first_key(conditions.until))
    if conditions.outcome is not None:
        fits = select(_JOB.c.key).where(_JOB.c.key == key, _JOB.c.outcome == conditions.outcome)
        chosen = chosen.where(fits.exists())
    for asked in conditions.ranges:
        chosen = chosen.where(jobs_within(index.database, asked, key, way))
    return chosen


def _by_relevance(index: Index, conditions: Conditions) -> Select[Any]:
    matching = index.texts.matching(conditions.query, scored=True)
    newest = (
        _selected(index, conditions, matching.key)
        .add_columns(matching.score.label("score"))
        .where(matching.condition)
        .order_by(matching.key.desc())
        .limit(RANKED)
        .subquery()
    )
    key, score = newest.columns
    return select(key).order_by(score, key.desc())


def _by_field(
    index: Index, conditions: Conditions, field: Field, descending: bool, limit: int
) -> list[int]:
    """The values in their order until there are enough jobs, then the jobs without one."""
    value, job = value_of(field), VALUES.c.job
    chosen = _selected(index, conditions, job).where(is_used(field), value.isnot(None))
    if conditions.query:
        matching = index.texts.matching(conditions.query)
        chosen = chosen.where((job + 0).in_(select(matching.key).where(matching.condition)))
    by = [value, VALUES.c.high, job] if value is VALUES.c.low else [value, job]
    chosen = chosen.order_by(*(column.desc() if descending else column for column in by))
    found: list[int] = []
    values = limit * _MORE_VALUES
    while len(found) < limit:
        read = _numbers(index, chosen.limit(values))
        found = list(dict.fromkeys(read))
        if len(read) < values:
            return found[:limit] + _without(index, conditions, field, limit - len(found))
        values *= _MORE_VALUES
    return found[:limit]


def _without(index: Index, conditions: Conditions, field: Field, limit: int) -> list[int]:
    if limit <= 0:
        return []
    found = _fulfilling(index, conditions)
    (key,) = found.selected_columns
    known = select(OTHERS.c.job).where(
        OTHERS.c.job == key, is_used(field, OTHERS), value_of(field, OTHERS).isnot(None)
    )
    return _numbers(index, found.where(~known.exists()).order_by(key.desc()).limit(limit))
