"""Find jobs by words, by ranges of values, by outcome and by time."""

from __future__ import annotations

import difflib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from recorder.archive.finding import words as search_words
from recorder.archive.finding.snippets import CLOSE, OPEN, Line, Place, Snippet, snippet
from recorder.archive.index import fts5
from recorder.archive.index.database import Row
from recorder.archive.index.index import Index
from recorder.archive.index.rows import WORD_KINDS
from recorder.archive.index.tables import moment
from recorder.archive.index.text import Query
from recorder.errors import BadValue, UnknownField
from recorder.model.base import Value
from recorder.model.fields import FIELDS, Field
from recorder.model.reading import Role


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

    Jobs without a value of the field come last.
    """

    by: str = "newest"
    descending: bool = False


NEWEST = Order()


class Hit(Value):
    """One job that was found.

    path: of its folder. lines: those that tell most of what was looked for.
    snippet: the same as one text, the matches in [ ]. sound_file, sound_s: where the first of them
    was heard, if any was. values: main fields in canonical units, of
    the last run of the last splice; so is the outcome. matched: of each field that was asked for,
    the values of this job that answer, in canonical units, of whatever splice and run.
    """

    id: str
    created_at: datetime
    title: str
    customer: str | None
    outcome: str | None
    complete: bool
    path: Path
    snippet: str = ""
    lines: tuple[Line, ...] = ()
    sound_file: str | None = None
    sound_s: float | None = None
    values: dict[str, bool | float | str] = {}
    matched: dict[str, list[bool | float | str]] = {}


def search(
    index: Index,
    words: str | Query = "",
    ranges: Sequence[Range] = (),
    outcome: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    order: Order = NEWEST,
    limit: int = 50,
    snippets: bool = True,
) -> tuple[Hit, ...]:
    """Jobs that fulfil everything that is given; all jobs when nothing is.

    A range is fulfilled by any value in force, used or measured, of any splice and run. ``outcome``
    is that of the job (its last splice); for any splice ask ``Range("outcome", equals=...)``.
    since <= created < until. Raises UnknownField, BadValue, and what the index raises.
    """
    query, where, bound = _conditions(words, ranges, outcome, since, until)
    if not all(query):
        return ()
    direction = "ASC" if order.by == "oldest" else "DESC"
    found = index.database.rows(
        "SELECT key, id, created_at, title, customer, outcome, complete, main FROM jobs"
        f" WHERE {where} ORDER BY created_at {direction}, id {direction} LIMIT ?",
        [*bound, max(limit, 0)],
    )
    return tuple(_hit(index, row, query if snippets else ()) for row in found)


def count(
    index: Index,
    words: str | Query = "",
    ranges: Sequence[Range] = (),
    outcome: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> int:
    """How many jobs fulfil everything that is given. Raises as ``search``."""
    query, where, bound = _conditions(words, ranges, outcome, since, until)
    if not all(query):
        return 0
    return int(index.database.rows(f"SELECT count(*) FROM jobs WHERE {where}", bound)[0][0])


def _conditions(
    words: str | Query,
    ranges: Sequence[Range],
    outcome: str | None,
    since: datetime | None,
    until: datetime | None,
) -> tuple[Query, str, list[object]]:
    query = search_words.query(words) if isinstance(words, str) else words
    conditions: list[str] = []
    bound: list[object] = []
    if query and all(query):
        conditions.append("key IN (SELECT rowid FROM texts WHERE texts MATCH ?)")
        bound.append(fts5.expression(query))
    for asked in ranges:
        condition, values = _condition(asked)
        conditions.append(condition)
        bound += values
    for condition, value in (
        ("outcome = ?", outcome),
        ("created_at >= ?", since and moment(since)),
        ("created_at < ?", until and moment(until)),
    ):
        if value is not None:
            conditions.append(condition)
            bound.append(value)
    return query, " AND ".join(conditions) or "1", bound


def known_field(name: str) -> Field:
    """The field of that name. Raises UnknownField, which names the near ones."""
    if name not in FIELDS:
        near = difflib.get_close_matches(name, FIELDS, n=3, cutoff=0.5)
        raise UnknownField(wanted=name, near=" or ".join(near) or ", ".join(FIELDS))
    return FIELDS[name]


def _condition(asked: Range) -> tuple[str, list[object]]:
    """SQL over ``jobs.key``, and its values."""
    field = known_field(asked.field)
    tests = _word_tests(asked, field) if field.kind in WORD_KINDS else _number_tests(asked, field)
    sql = " AND ".join(["field = ?", "role = ?", *tests])
    values = [field.name, Role.USED.value, *tests.values()]
    return f"key IN (SELECT job FROM job_values WHERE {sql})", values


def _word_tests(asked: Range, field: Field) -> dict[str, object]:
    word = asked.equals.casefold() if isinstance(asked.equals, str) else None
    if word is None or (field.choices and word not in field.choices):
        hint = f"use '=' and {'one of ' + ', '.join(field.choices) if field.choices else 'a word'}"
        raise BadValue(value=asked.equals, field=field.name, hint=hint)
    return {"word = ?": word.encode("utf-8", "replace").decode()}


def _number_tests(asked: Range, field: Field) -> dict[str, object]:
    if isinstance(asked.equals, str):
        raise BadValue(value=asked.equals, field=field.name, hint="give a number, or yes or no")
    tests = {
        "low > ?" if asked.low_open else "low >= ?": asked.low,
        "high < ?" if asked.high_open else "high <= ?": asked.high,
        "low = ?": asked.equals,
    }
    return {sql: float(value) for sql, value in tests.items() if value is not None}


def _hit(index: Index, row: Row, query: Query) -> Hit:
    key, job_id, created_at, title, customer, outcome, complete, main = row
    seen = _matches(index, key, query) if query else Snippet()
    sound_file, sound_s = seen.sound
    return Hit(
        id=job_id,
        created_at=datetime.fromisoformat(created_at),
        title=title,
        customer=customer,
        outcome=outcome,
        complete=bool(complete),
        path=index.home.jobs / job_id,
        snippet=seen.text,
        lines=seen.lines,
        sound_file=sound_file,
        sound_s=sound_s,
        values=json.loads(main),
    )


def _matches(index: Index, key: int, query: Query) -> Snippet:
    marked = index.database.rows(
        "SELECT highlight(texts, 0, ?, ?) FROM texts WHERE texts MATCH ? AND rowid = ?",
        (OPEN, CLOSE, fts5.expression(query), key),
    )
    places = index.database.rows(
        "SELECT label, file, start_s FROM passages WHERE job = ? ORDER BY line", (key,)
    )
    lines = marked[0][0].split("\n") if marked else ()
    return snippet(lines, [Place(*place) for place in places], query)
