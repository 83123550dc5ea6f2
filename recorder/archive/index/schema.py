"""The ordinary tables of the index, for any database that SQLAlchemy knows.

The text index is no ordinary table: see ``text``.
"""

from __future__ import annotations

from sqlalchemy import (
    REAL,
    BigInteger,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
)
from sqlalchemy.types import TypeEngine

METADATA = MetaData()

# In SQLite a column of the type INTEGER is the row's own number, of 64 bits.
_KEY = BigInteger().with_variant(Integer(), "sqlite")
_NUMBER: TypeEngine[float] = Double().with_variant(REAL(), "sqlite")

# key: sorts by created_at, see ``keys``. complete: 0 or 1. main: JSON. stamp: tells whether
# job.json is still the one that was indexed.
JOBS = Table(
    "jobs",
    METADATA,
    Column("key", _KEY, primary_key=True, autoincrement=False),
    Column("id", Text, nullable=False, unique=True),
    Column("created_at", Text, nullable=False),
    Column("title", Text, nullable=False),
    Column("customer", Text),
    Column("outcome", Text),
    Column("complete", Integer, nullable=False),
    Column("main", Text, nullable=False),
    Column("stamp", Text, nullable=False),
    sqlite_strict=True,
)

# One row for each ``rows.ValueRow``. line: counts those of a job from 0.
VALUES = Table(
    "job_values",
    METADATA,
    Column("job", _KEY, ForeignKey("jobs.key"), primary_key=True),
    Column("field", Text, primary_key=True),
    Column("line", Integer, primary_key=True),
    Column("splice", Integer, nullable=False),
    Column("run", Integer, nullable=False),
    Column("role", Text, nullable=False),
    Column("low", _NUMBER),
    Column("high", _NUMBER),
    Column("word", Text),
    Column("standing", Text, nullable=False),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)
for _name, _columns in (("number", ("low", "high")), ("word", ("word",))):
    _present = VALUES.c[_columns[0]].isnot(None)
    Index(
        f"values_by_{_name}",
        *(VALUES.c[column] for column in ("field", "role", *_columns, "job")),
        sqlite_where=_present,
        postgresql_where=_present,
    )

# Where each line of a job's text comes from. line: counts them from 0.
PASSAGES = Table(
    "passages",
    METADATA,
    Column("job", _KEY, ForeignKey("jobs.key"), primary_key=True),
    Column("line", Integer, primary_key=True),
    Column("label", Text, nullable=False),
    Column("file", Text),
    Column("start_s", _NUMBER),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)

# Every word of the text as the text index folds it. jobs: how many hold it.
TERMS = Table(
    "terms",
    METADATA,
    Column("term", Text, primary_key=True),
    Column("jobs", Integer, nullable=False),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)
