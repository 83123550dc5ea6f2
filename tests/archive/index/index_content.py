"""What an index says, for comparison."""

from __future__ import annotations

import sqlite3
from datetime import timedelta
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.index.schema import RUNS
from recorder.model.job import Job
from tests.archive.finding.asking import search
from tests.archive.sample_jobs import NOW, add_job

_RUNS = ", ".join(f"runs.{column.name}" for column in RUNS.columns if column.name != "job")
CONTENT = (
    "SELECT id, created_at, title, customer, outcome, complete, main, stamp FROM jobs ORDER BY id",
    "SELECT id, v.field, splice, run, role, low, high, word, standing FROM job_values v"
    " JOIN jobs ON key = job ORDER BY id, line",
    "SELECT id, line, label, file, start_s FROM passages JOIN jobs ON key = job ORDER BY id, line",
    f"SELECT id, {_RUNS} FROM runs JOIN jobs ON key = job ORDER BY id, splice, run",
    "SELECT * FROM belts ORDER BY key",
    "SELECT term, terms.jobs FROM terms ORDER BY term",
    "SELECT id, body FROM texts JOIN jobs ON key = texts.rowid ORDER BY id",
)


def content(home: Home) -> list[list[tuple[object, ...]]]:
    """All that the index says, without its internal keys; read with SQLite alone."""
    connection = sqlite3.connect(home.index)
    try:
        return [connection.execute(query).fetchall() for query in CONTENT]
    finally:
        connection.close()


def jobs(home: Home, source: Path, count: int = 5) -> list[Job]:
    return [add_job(home, source, NOW + timedelta(hours=hour)) for hour in range(count)]


def ids(index: Index, words: str = "") -> list[str]:
    return [hit.id for hit in search(index, words)]
