"""Find jobs by words, by ranges of values, by outcome and by time."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from sqlalchemy import select

from recorder.archive.finding.asked import ANY, NEWEST, Conditions, Order, Range
from recorder.archive.finding.fields import known_field
from recorder.archive.finding.keys import BY_NO_FIELD, BY_TIME, keys, marked_keys, number_of_keys
from recorder.archive.finding.ranges import matched
from recorder.archive.finding.snippets import Line, Place, Snippet, snippet
from recorder.archive.index.database import Row
from recorder.archive.index.index import Index
from recorder.archive.index.schema import JOBS, PASSAGES
from recorder.archive.index.text import OPEN, Query
from recorder.model.base import Value
from recorder.model.fields import FIELDS, Field

__all__ = ["NEWEST", "Hit", "Order", "Range", "count", "search"]

_AT_ONCE = 500  # jobs that are read in one go
_LARGEST = 2**40  # of a limit, so that some times as much still is a number for SQLite


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
    conditions: Conditions = ANY,
    order: Order = NEWEST,
    limit: int = 50,
    snippets: bool = True,
) -> tuple[Hit, ...]:
    """Jobs that fulfil all conditions. Raises UnknownField, BadValue, and what the index raises."""
    if not all(conditions.query) or limit <= 0:
        return ()
    shown = conditions.query if snippets else ()
    marked: dict[int, list[str]] = {}
    if shown and order.by in BY_TIME and limit <= _AT_ONCE:
        marked = marked_keys(index, conditions, order, limit)
        found = list(marked)
    else:
        found = keys(index, conditions, order, min(limit, _LARGEST))
    also = () if order.by in BY_NO_FIELD else (known_field(order.by),)
    return tuple(
        hit
        for start in range(0, len(found), _AT_ONCE)
        for hit in _hits(
            index, found[start : start + _AT_ONCE], shown, marked, conditions.ranges, also
        )
    )


def count(index: Index, conditions: Conditions = ANY) -> int:
    """How many jobs fulfil all conditions. Raises as ``search``."""
    return number_of_keys(index, conditions) if all(conditions.query) else 0


def _hits(
    index: Index,
    found: list[int],
    query: Query,
    marked: Mapping[int, list[str]],
    ranges: Sequence[Range],
    also: Sequence[Field],
) -> Iterator[Hit]:
    """query: what snippets are made for. marked: the texts for them, where they are known."""
    jobs = {row[0]: row for row in index.database.rows(select(JOBS).where(JOBS.c.key.in_(found)))}
    seen = {}
    if query and found:
        seen = _snippets(index, marked or index.texts.highlighted(query, found), query)
    values = matched(index.database, found, ranges, also)
    folder = index.home.jobs
    for key in found:
        if key in jobs:  # it may have been removed meanwhile
            yield _hit(folder, jobs[key], seen.get(key, Snippet()), values.get(key, {}))


def _hit(
    folder: Path, row: Row, seen: Snippet, answers: dict[str, list[bool | float | str]]
) -> Hit:
    _, job_id, created_at, title, customer, outcome, complete, main, _ = row
    sound_file, sound_s = seen.sound
    values = json.loads(main)
    written = values | {"customer": customer}
    return Hit(
        id=job_id,
        created_at=datetime.fromisoformat(created_at),
        title=title,
        customer=customer,
        outcome=outcome,
        complete=bool(complete),
        path=folder / job_id,
        snippet=seen.text,
        lines=seen.lines,
        sound_file=sound_file,
        sound_s=sound_s,
        values=values,
        matched={
            name: [_as_written(value, written.get(name)) for value in answers[name]]
            for name in FIELDS
            if name in answers
        },
    )


def _as_written(value: bool | float | str, main: bool | float | str | None) -> bool | float | str:
    """A word with the capitals that it has in the record, where the index kept them."""
    same = isinstance(value, str) and isinstance(main, str) and main.casefold() == value
    return main if same and main is not None else value


def _snippets(index: Index, marked: Mapping[int, list[str]], query: Query) -> dict[int, Snippet]:
    matching = {
        (key, number)
        for key, lines in marked.items()
        for number, line in enumerate(lines)
        if OPEN in line
    }
    # Not by the pairs: SQLite looks those up by reading the whole table.
    chosen = select(PASSAGES).where(
        PASSAGES.c.job.in_(marked), PASSAGES.c.line.in_({number for _, number in matching})
    )
    places: dict[int, dict[int, Place]] = {}
    for key, number, *place in index.database.rows(chosen):
        if (key, number) in matching:
            places.setdefault(key, {})[number] = Place(*place)
    return {key: snippet(lines, places.get(key, {}), query) for key, lines in marked.items()}
