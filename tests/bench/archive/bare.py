"""The same questions put to SQLite itself: hand-written statements over the file of the index.

For each question several plans are tried, each forced by the form of its statement, and the
quickest one that answers rightly counts: the best that somebody could have written by hand.
"""

from __future__ import annotations

import functools
import math
import sqlite3
import time
from pathlib import Path

from tests.bench.archive.queries import Asked

COLUMNS = "j.id, j.created_at, j.title, j.customer, j.outcome, j.complete, j.main"
REPEATS = 3
LONGEST_S = 10.0
STEPS = 5000  # of SQLite's machine, between two looks at the clock


class Bare:
    """A connection that nobody else uses."""

    def __init__(self, index: Path) -> None:
        self._connection = sqlite3.connect(f"file:{index}?mode=ro", uri=True)

    def close(self) -> None:
        self._connection.close()

    def count(self, asked: Asked) -> int:
        """How many jobs it finds in all."""
        conditions, values = _conditions(asked)
        inner = f"SELECT count(*) FROM jobs j WHERE {' AND '.join(conditions) or '1'}"
        return int(self._connection.execute(inner, values).fetchone()[0])

    def quickest(self, asked: Asked, wanted: list[str], limit: int) -> tuple[float, str]:
        """Seconds of the best plan, warm, and its name. wanted: the ids that it must give."""
        best_s, best = LONGEST_S, ""
        for name, (statement, values) in _plans(asked, limit).items():
            seconds = self._seconds(statement, values, wanted, most_s=2 * best_s + 0.002)
            if seconds < best_s:
                best_s, best = seconds, name
        if not best:
            raise AssertionError(f"no plan by hand finds the jobs of {asked}")
        return best_s, best

    def _seconds(
        self, statement: str, values: dict[str, object], wanted: list[str], most_s: float
    ) -> float:
        """Of the quickest time but the first; infinite when it is wrong, or takes too long."""
        seconds = []
        for _ in range(1 + REPEATS):
            begin = time.perf_counter()
            late = functools.partial(_later_than, begin + most_s)
            self._connection.set_progress_handler(late, STEPS)
            try:
                found = self._connection.execute(statement, values).fetchall()
            except sqlite3.OperationalError as error:
                if error.sqlite_errorcode != sqlite3.SQLITE_INTERRUPT:
                    raise
                return math.inf
            seconds.append(time.perf_counter() - begin)
        right = [row[0] for row in found] == wanted
        return min(seconds[1:]) if right else math.inf


def _later_than(at: float) -> bool:
    return time.perf_counter() > at


Statement = tuple[str, dict[str, object]]


def _plans(asked: Asked, limit: int) -> dict[str, Statement]:
    conditions, values = _conditions(asked)
    values["limit"] = limit
    every = f"WHERE {' AND '.join(conditions) or '1'} "
    plans = {
        "sets, sorted": f"SELECT {COLUMNS} FROM jobs j {every}"
        "ORDER BY j.created_at DESC, j.id DESC LIMIT :limit",
        "newest jobs first": f"SELECT {COLUMNS} FROM jobs j {every}"
        "ORDER BY j.key DESC LIMIT :limit",
    }
    of_values = [f"EXISTS (SELECT 1 {_values(at)} AND v.job = j.key)" for at, _ in enumerate(asked.tests)]  # fmt: skip # noqa: E501
    others = conditions[bool(asked.words) + len(asked.tests) :]
    rest = "".join(f" AND {condition}" for condition in (*of_values, *others))
    if asked.words:
        plans["words first"] = (
            f"SELECT {COLUMNS} FROM texts CROSS JOIN jobs j ON j.key = texts.rowid"
            f" WHERE texts MATCH :words{rest} ORDER BY texts.rowid DESC LIMIT :limit"
        )
    if asked.tests:
        matching = " AND t.rowid IN (SELECT rowid FROM texts WHERE texts MATCH :words)"
        one_by_one = (
            " AND EXISTS (SELECT 1 FROM texts WHERE texts MATCH :words AND texts.rowid = j.key)"
        )
        for name, match in (("values first, words", matching), ("values first, each", one_by_one)):
            plans[name] = (
                f"SELECT {COLUMNS} FROM (SELECT DISTINCT v.job AS rowid {_values(0)}) t"
                f" CROSS JOIN jobs j ON j.key = t.rowid WHERE 1{match if asked.words else ''}{rest}"
                " ORDER BY j.key DESC LIMIT :limit"
            )
    return {name: (statement, values) for name, statement in plans.items()}


def _conditions(asked: Asked) -> tuple[list[str], dict[str, object]]:
    """Of ``jobs j``: first the words, then the values, then the rest."""
    found: list[str] = []
    bound: dict[str, object] = {}
    if asked.words:
        found.append("j.key IN (SELECT rowid FROM texts WHERE texts MATCH :words)")
        bound["words"] = _expression(asked.words)
    for at, test in enumerate(asked.tests):
        found.append(f"j.key IN (SELECT v.job {_values(at)})")
        bound |= {f"field{at}": test.field, f"low{at}": test.low, f"high{at}": test.high}
    if asked.outcome:
        found.append("j.outcome = :outcome")
        bound["outcome"] = asked.outcome
    if asked.since:
        found.append("j.created_at >= :since")
        bound["since"] = asked.since.isoformat(timespec="microseconds")
    return found, bound


def _values(at: int) -> str:
    return (
        f"FROM job_values v WHERE v.field = :field{at} AND v.role = 'used'"
        f" AND v.low >= :low{at} AND v.high <= :high{at}"
    )


def _expression(words: tuple[str, ...]) -> str:
    """Each word in quotes; the last one, and those of three letters, as beginnings."""
    quoted = [
        f'"{word}"{" *" if len(word) >= 3 or at == len(words) else ""}'
        for at, word in enumerate(words, 1)
    ]
    return " AND ".join(quoted)
