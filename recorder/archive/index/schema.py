"""The ordinary tables of the index, for any database that SQLAlchemy knows.

The text index is no ordinary table: see ``text``.
"""

from __future__ import annotations

from typing import Any

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

from recorder.model.belt import BELT_FIELDS
from recorder.model.fields import FIELDS, Kind
from recorder.model.past import STREAMS

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


def _belt() -> list[Column[Any]]:
    """Columns named after the fields of ``Belt``."""
    return [
        Column(name, _NUMBER if FIELDS[name].kind is Kind.QUANTITY else Text)
        for name in BELT_FIELDS
    ]


# Every belt that was pressed, once: what runs have in common that tell the same of it. key: see
# ``entries.belt_key``. belt_material: folded.
BELTS = Table(
    "belts",
    METADATA,
    Column("key", _KEY, primary_key=True, autoincrement=False),
    *_belt(),
    sqlite_strict=True,
)
Index("belts_by_material", BELTS.c.belt_material, BELTS.c.belt_thickness)

# One row for each ``PastRun``, whose fields the columns are named after. gap_below: 0 or 1.
# press_key and so on: the name folded, by which runs are held against one another.
RUNS = Table(
    "runs",
    METADATA,
    Column("job", _KEY, ForeignKey("jobs.key"), primary_key=True),
    Column("splice", Integer, primary_key=True),
    Column("run", Integer, primary_key=True),
    Column("belt", _KEY, ForeignKey("belts.key"), nullable=False),
    *(Column(f"{stream}_key", Text) for stream in STREAMS),
    Column("outcome", Text),
    Column("job_number", Text),
    Column("customer", Text),
    Column("technician", Text),
    Column("press", Text),
    Column("template", Text),
    *_belt(),
    Column("pressure", _NUMBER),
    Column("preheat_temperature", _NUMBER),
    Column("preheat_time", _NUMBER),
    Column("top_temperature", _NUMBER),
    Column("bottom_temperature", _NUMBER),
    Column("dwell_time", _NUMBER),
    Column("cool_down_temperature", _NUMBER),
    Column("cycle_time", _NUMBER),
    Column("ambient_temperature", _NUMBER),
    Column("finger_gap", _NUMBER),
    Column("finger_gap_U", _NUMBER),
    Column("gap_below", Integer, nullable=False),
    Column("splice_width", _NUMBER),
    Column("splice_width_U", _NUMBER),
    Column("edge_offset", _NUMBER),
    Column("edge_offset_U", _NUMBER),
    sqlite_strict=True,
    sqlite_with_rowid=False,
)
Index("runs_by_belt", RUNS.c.belt, RUNS.c.job)
for _stream in STREAMS:
    _folded = RUNS.c[f"{_stream}_key"]
    Index(
        f"runs_by_{_stream}",
        _folded,
        RUNS.c.job,
        sqlite_where=_folded.isnot(None),
        postgresql_where=_folded.isnot(None),
    )
