"""Ranges of values as conditions over the table of values."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import ColumnElement, and_, select
from sqlalchemy.sql.selectable import FromClause

from recorder.archive.finding.asked import Range
from recorder.archive.finding.fields import known_field
from recorder.archive.index.database import Database, Row
from recorder.archive.index.rows import WORD_KINDS
from recorder.archive.index.schema import VALUES
from recorder.errors import BadValue
from recorder.model.fields import FIELDS, Field, Kind
from recorder.model.reading import Role

# Up to so many values, all that lie in a range are gathered before jobs are held against them;
# of a wider range the values of each job are looked up, until there are enough jobs. Gathering
# takes 1.2 us a value, a look 3 us: tried on 100,000 jobs.
FEW = 4_000
VERY_FEW = 150  # so many jobs may be asked one by one for their text, 40 us each

OTHERS = VALUES.alias("others")  # the values once more, in a query inside of a query


def jobs_within(
    database: Database, asked: Range, key: ColumnElement[int], way: int = 0
) -> ColumnElement[bool]:
    """That a job has a value in the range. key: the column with the number of the job. way: up to
    how many values the database may go from them to the jobs; it tests the jobs by more of them.

    Raises UnknownField, BadValue, and what the database raises.
    """
    within = select(OTHERS.c.job).where(_within(asked, OTHERS))
    found = [row[0] for row in database.rows(within.limit(VERY_FEW + 1))]
    if len(found) <= VERY_FEW:
        return (key if len(found) <= way else key + 0).in_(found)
    if not database.rows(within.offset(FEW).limit(1)):
        return (key if way >= FEW else key + 0).in_(within)
    return within.where(OTHERS.c.job == key).exists()


def value_of(field: Field, values: FromClause = VALUES) -> ColumnElement[float | str]:
    """The column by which a field sorts."""
    column: ColumnElement[float | str] = values.c.word if field.kind in WORD_KINDS else values.c.low
    return column


def is_used(field: Field, values: FromClause = VALUES) -> ColumnElement[bool]:
    """That a row is a value of the field, as it was used or found."""
    return and_(values.c.field == field.name, values.c.role == Role.USED.value)


def matched(
    database: Database, keys: Sequence[int], ranges: Sequence[Range], also: Sequence[Field]
) -> dict[int, dict[str, list[bool | float | str]]]:
    """Of each job the values that lie in the ranges, and all values of the fields ``also``."""
    tests = [_within(asked, VALUES) for asked in ranges] + [is_used(field) for field in also]
    found: dict[int, dict[str, list[bool | float | str]]] = {}
    for test in tests:  # one by one: SQLite looks an OR of them up in the values of all jobs
        chosen = select(VALUES).where(VALUES.c.job.in_(keys), test)
        for row in database.rows(chosen.order_by(VALUES.c.job, VALUES.c.line)):
            field = FIELDS[row[1]]
            known = found.setdefault(row[0], {}).setdefault(field.name, [])
            value = _value(field, row)
            if value is not None and value not in known:
                known.append(value)
    return found


def _value(field: Field, row: Row) -> bool | float | str | None:
    """As the record has it, but for the capitals of words; of a bound the bound."""
    low, high, word = row[6:9]
    if field.kind is Kind.FLAG:
        return bool(low)
    if field.kind is Kind.TIME:
        return str(word).upper()
    found: float | str | None = word if field.kind in WORD_KINDS else high
    return found


def _within(asked: Range, values: FromClause) -> ColumnElement[bool]:
    field = known_field(asked.field)
    tests = _word_tests if field.kind in WORD_KINDS else _number_tests
    return and_(is_used(field, values), *tests(asked, field, values))


def _word_tests(asked: Range, field: Field, values: FromClause) -> list[ColumnElement[bool]]:
    word = asked.equals.casefold() if isinstance(asked.equals, str) else None
    if word is None or (field.choices and word not in field.choices):
        hint = f"use '=' and {'one of ' + ', '.join(field.choices) if field.choices else 'a word'}"
        raise BadValue(value=asked.equals, field=field.name, hint=hint)
    return [values.c.word == word.encode("utf-8", "replace").decode()]


def _number_tests(asked: Range, field: Field, values: FromClause) -> list[ColumnElement[bool]]:
    if isinstance(asked.equals, str):
        raise BadValue(value=asked.equals, field=field.name, hint="give a number, or yes or no")
    low, high = values.c.low, values.c.high
    tests = []
    if asked.low is not None:
        tests.append(low > float(asked.low) if asked.low_open else low >= float(asked.low))
    if asked.high is not None:
        tests.append(low <= float(asked.high))  # follows, and an index begins with it
        tests.append(high < float(asked.high) if asked.high_open else high <= float(asked.high))
    if asked.equals is not None:
        tests.append(low == float(asked.equals))
    if not tests:
        tests.append((values.c.word if field.kind is Kind.TIME else low).isnot(None))
    return tests
