"""How jobs get into the tables of the index and out, and what the tables say of them."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from sqlalchemy import Table, bindparam, delete, select, update
from sqlalchemy.schema import CreateIndex, CreateTable

from recorder.archive.index.database import Database, Row
from recorder.archive.index.entries import Entry
from recorder.archive.index.fts5 import Fts5
from recorder.archive.index.keys import free_key
from recorder.archive.index.schema import (
    BELTS,
    JOBS,
    METADATA,
    PASSAGES,
    RUNS,
    TERMS,
    VALUES,
)
from recorder.archive.index.text import TextIndex
from recorder.model.past import STREAMS

INDEX_VERSION = 4  # raise it with every change of the tables or of what rows.py puts into them
APPLICATION_ID = 0x5345414D  # so that another program's database is not taken for ours
NAMES = {*METADATA.tables, "texts"}

# What the planner takes for granted, so that its plans are those of a full archive from the first
# job on: rows, then rows for each value of the first column, of the first two, and so on.
# https://www.sqlite.org/fileformat2.html#stat1tab
_STATISTICS = (
    ("jobs", None, "100000"),
    ("job_values", "job_values", "3000000 30 2 1"),
    ("job_values", "values_by_number", "2000000 100000 50000 50 50 1"),
    ("job_values", "values_by_word", "1000000 100000 50000 20 1"),
    ("passages", "passages", "4000000 40 1"),
    ("terms", "terms", "300000 1"),
    ("belts", "belts_by_material", "5000 50 10"),
    ("runs", "runs", "150000 2 1 1"),
    ("runs", "runs_by_belt", "150000 30 2"),
    *(("runs", f"runs_by_{stream}", "150000 1000 2") for stream in STREAMS),
)
_AT_ONCE = 500  # values in one statement

_Item = TypeVar("_Item")


class Tables:
    """The tables of an open database. All methods raise as ``Database``."""

    def __init__(self, database: Database) -> None:
        self.database = database
        self.texts: TextIndex = Fts5(database)

    def make(self) -> None:
        """The tables, empty, in an empty database; ``settle`` comes after the first jobs."""
        self.database.rows(f"PRAGMA application_id = {APPLICATION_ID}")
        self.database.rows(f"PRAGMA user_version = {INDEX_VERSION}")
        for table in METADATA.sorted_tables:
            self.database.run(CreateTable(table))
        # Before the full text has tables: of one with a row or two in it the planner would keep
        # in mind that it is small, and read all of it for every piece that FTS5 takes away.
        self.database.rows("ANALYZE")
        for row in _STATISTICS:
            self.database.rows("INSERT INTO sqlite_stat1 VALUES (?, ?, ?)", row)
        self.database.rows("ANALYZE sqlite_schema")  # takes them into force
        self.texts.make()

    def settle(self) -> None:
        """Make of the jobs that are there what is sooner made at once than job by job."""
        self.texts.settle()
        for words in _batches(self.texts.all_words(), 10 * _AT_ONCE):
            self.database.fill(TERMS, words)
        for index in (index for table in METADATA.sorted_tables for index in table.indexes):
            self.database.run(CreateIndex(index))

    def fill(self, entries: Sequence[Entry]) -> None:
        """Take in jobs of which none is there, without counting their words."""
        taken: set[int] = set()
        keys = [self._free_key(entry, taken) for entry in entries]
        keyed = list(zip(keys, entries, strict=True))
        self.database.fill(JOBS, [(key, *entry.job.values()) for key, entry in keyed])
        self.database.fill(VALUES, [row for each in keyed for row in _values(*each)])
        self.database.fill(PASSAGES, [row for each in keyed for row in _passages(*each)])
        self._fill_belts({row[0]: row for entry in entries for row in entry.belts})
        self.database.fill(RUNS, [row for each in keyed for row in _runs(*each)])
        for key, entry in keyed:
            self.texts.put(key, entry.lines)

    def put(self, entries: Sequence[Entry]) -> None:
        """Take in jobs, each in place of what was there of it."""
        changes = Counter[str]()
        for entry in entries:
            changes.subtract(self._take_out(entry.id))
            changes.update(self.texts.words(entry.lines))
        self.fill(entries)
        self._count(changes)

    def remove(self, job_id: str) -> None:
        """Forget a job."""
        changes = Counter[str]()
        changes.subtract(self._take_out(job_id))
        self._count(changes)

    def known(self) -> dict[str, str]:
        """The stamp of each job, by its id."""
        return dict(self.database.rows("SELECT id, stamp FROM jobs"))

    def differences(self, entry: Entry) -> tuple[str, ...]:
        """The tables that say something else of a job than they should, the stamp aside."""
        found = self.database.rows(select(JOBS).where(JOBS.c.id == entry.id))
        if not found:
            return (JOBS.name,)
        key, *columns = found[0]
        wrong = [] if columns[:-1] == list(entry.job.values())[:-1] else [JOBS.name]
        for table, expected in ((VALUES, _values(key, entry)), (PASSAGES, _passages(key, entry))):
            rows = self.database.rows(
                select(table).where(table.c.job == key).order_by(table.c.line)
            )
            if rows != expected:
                wrong.append(table.name)
        wrong += self._differing_runs(key, entry)
        return (*wrong, *(() if self.texts.lines(key) == entry.lines else ("texts",)))

    def check(self) -> None:
        """Every page, and the full text against its own tables. Raises IndexDamaged."""
        self.database.check()
        self.texts.check()

    def _free_key(self, entry: Entry, taken: set[int]) -> int:
        """``taken``: keys of the same batch; the new one is added."""
        while True:
            key = free_key(entry.at, entry.id, taken)
            taken.add(key)
            if not self.database.rows(select(JOBS.c.key).where(JOBS.c.key == key)):
                return key

    def _take_out(self, job_id: str) -> set[str]:
        """Forget a job but for the numbers of its words, which are returned."""
        found = self.database.rows(select(JOBS.c.key).where(JOBS.c.id == job_id))
        if not found:
            return set()
        key = found[0][0]
        words = self.texts.words(self.texts.lines(key))
        self.texts.remove(key)
        belts = self._belts_of(key)
        for column in (PASSAGES.c.job, VALUES.c.job, RUNS.c.job, JOBS.c.key):
            table: Table = column.table
            self.database.run(delete(table).where(column == key))
        left = select(RUNS.c.job).where(RUNS.c.belt == BELTS.c.key).exists()
        self.database.run(delete(BELTS).where(BELTS.c.key.in_(belts), ~left))
        return words

    def _belts_of(self, key: int) -> list[int]:
        found = select(RUNS.c.belt).where(RUNS.c.job == key).distinct()
        return [row[0] for row in self.database.rows(found)]

    def _fill_belts(self, belts: Mapping[int, Row]) -> None:
        """Take in those that are not there. belts: by key."""
        for keys in _batches(belts, _AT_ONCE):
            known = set(self.database.rows(select(BELTS.c.key).where(BELTS.c.key.in_(keys))))
            self.database.fill(BELTS, [belts[key] for key in keys if (key,) not in known])

    def _differing_runs(self, key: int, entry: Entry) -> list[str]:
        """BELTS and RUNS where they say something else."""
        belts = {row[0]: row for row in entry.belts}
        there = select(BELTS).where(BELTS.c.key.in_(belts))
        known = {row[0]: row for row in self.database.rows(there)}
        runs = select(RUNS).where(RUNS.c.job == key).order_by(RUNS.c.splice, RUNS.c.run)
        wrong = [] if known == belts else [BELTS.name]
        return wrong if self.database.rows(runs) == _runs(key, entry) else [*wrong, RUNS.name]

    def _count(self, changes: Mapping[str, int]) -> None:
        """Change the numbers of jobs in the table of words."""
        for terms in _batches((term for term in changes if changes[term]), _AT_ONCE):
            known: dict[str, int] = dict(
                self.database.rows(
                    select(TERMS.c.term, TERMS.c.jobs).where(TERMS.c.term.in_(terms))
                )
            )
            numbers = {term: known.get(term, 0) + changes[term] for term in terms}
            new = [(term, n) for term, n in numbers.items() if term not in known and n > 0]
            self.database.fill(TERMS, new)
            self.database.many(
                update(TERMS).where(TERMS.c.term == bindparam("which")),
                [{"which": t, "jobs": n} for t, n in numbers.items() if t in known and n > 0],
            )
            gone = [term for term, number in numbers.items() if number <= 0]
            self.database.run(delete(TERMS).where(TERMS.c.term.in_(gone)))


def _values(key: int, entry: Entry) -> list[Row]:
    return [(key, row.field, line, *row[1:]) for line, row in enumerate(entry.values)]


def _passages(key: int, entry: Entry) -> list[Row]:
    return [(key, line, p.label, p.file, p.start_s) for line, p in enumerate(entry.passages)]


def _runs(key: int, entry: Entry) -> list[Row]:
    return [(key, *row) for row in entry.runs]


def _batches(items: Iterable[_Item], size: int) -> Iterator[list[_Item]]:
    rest = iter(items)
    while batch := list(itertools.islice(rest, size)):
        yield batch
