"""The tables of the index, and how one job gets into them and out."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from recorder.archive.index import rows
from recorder.archive.index.database import Database, Row
from recorder.model.job import Job, in_force

INDEX_VERSION = 1  # raise it with every change of the tables or of what rows.py puts into them
APPLICATION_ID = 0x5345414D  # so that another program's database is not taken for ours

# stamp: tells whether job.json is still the one that was indexed.
# texts.body: the passages of the job, one a line; passages.line counts them from 0.
TABLES = (
    """CREATE TABLE jobs (
        key INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, created_at TEXT NOT NULL,
        title TEXT NOT NULL, customer TEXT, outcome TEXT, complete INTEGER NOT NULL,
        main TEXT NOT NULL, stamp TEXT NOT NULL) STRICT""",
    "CREATE INDEX jobs_by_time ON jobs (created_at, id)",
    """CREATE TABLE job_values (
        job INTEGER NOT NULL REFERENCES jobs, field TEXT NOT NULL, splice INTEGER NOT NULL,
        run INTEGER NOT NULL, role TEXT NOT NULL, low REAL, high REAL, word TEXT,
        standing TEXT NOT NULL) STRICT""",
    "CREATE INDEX values_by_job ON job_values (job, field, role)",
    "CREATE INDEX values_by_number ON job_values (field, role, low, high, job)",
    "CREATE INDEX values_by_word ON job_values (field, role, word, job)",
    """CREATE TABLE passages (
        job INTEGER NOT NULL REFERENCES jobs, line INTEGER NOT NULL, label TEXT NOT NULL,
        file TEXT, start_s REAL, PRIMARY KEY (job, line)) STRICT, WITHOUT ROWID""",
    "CREATE VIRTUAL TABLE texts USING fts5 (body, tokenize = 'unicode61 remove_diacritics 2')",
)
NAMES = {"jobs", "job_values", "passages", "texts"}


def make(database: Database) -> None:
    """The tables, empty, in an empty database."""
    database.rows(f"PRAGMA application_id = {APPLICATION_ID}")
    database.rows(f"PRAGMA user_version = {INDEX_VERSION}")
    for statement in TABLES:
        database.rows(statement)


def put(database: Database, job: Job, stamp: str) -> None:
    """Take a job in, in place of what was there of it. stamp: of the record on disk."""
    known = in_force(job.readings)
    customer, outcome = (known[n].value if n in known else None for n in ("customer", "outcome"))
    key = remove(database, job.id)
    database.rows(
        "INSERT INTO jobs VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            key,
            job.id,
            moment(job.created_at),
            rows.one_line(job.title()),
            customer,
            outcome,
            job.complete,
            json.dumps(rows.main_values(job), ensure_ascii=False),
            stamp,
        ),
    )
    key = key or database.rows("SELECT last_insert_rowid()")[0][0]
    database.many(
        "INSERT INTO job_values VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [(key, *value) for value in rows.values(job)],
    )
    lines = rows.passages(job)
    database.many(
        "INSERT INTO passages VALUES (?, ?, ?, ?, ?)",
        [(key, at, line.label, line.file, line.start_s) for at, line in enumerate(lines)],
    )
    body = "\n".join(line.text for line in lines)
    database.rows("INSERT INTO texts (rowid, body) VALUES (?, ?)", (key, body))


def remove(database: Database, job_id: str) -> int | None:
    """Forget a job; the key that it had."""
    found: list[Row] = database.rows("SELECT key FROM jobs WHERE id = ?", (job_id,))
    if not found:
        return None
    key: int = found[0][0]
    for table, column in (
        ("texts", "rowid"),
        ("passages", "job"),
        ("job_values", "job"),
        ("jobs", "key"),
    ):
        database.rows(f"DELETE FROM {table} WHERE {column} = ?", (key,))
    return key


def moment(at: datetime) -> str:
    """A time as text that sorts by time."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def check(database: Database) -> None:
    """Every page, and the full text against its own tables. Raises IndexDamaged."""
    database.check()
    # https://www.sqlite.org/fts5.html#the_integrity_check_command
    database.rows("INSERT INTO texts (texts, rank) VALUES ('integrity-check', 1)")
