"""The same questions put to SQLite itself: hand-written statements over the file of the index.

For each question several plans are tried, each forced by the form of its statement, and the
quickest one that answers rightly counts: the best that somebody could have written by hand.
"""

from __future__ import annotations

import functools
import math
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from tests.bench.archive.figures import Spent, timed
from tests.bench.archive.queries import Asked

COLUMNS = "j.key, j.id, j.created_at, j.title, j.customer, j.outcome, j.complete, j.main"
MARKED = "highlight(texts, 0, '[', ']')"
REPEATS = 3
KEYS_A_SECOND = 1_000_000 * 1024  # jobs.key sorts by time: see recorder/archive/index/keys.py
LONGEST_S = 10.0
STEPS = 5000  # of SQLite's machine, between two looks at the clock


class ByHand(NamedTuple):
    """plan: the best one's name. wall_s, cpu_s: see Spent. marked_s: of CPU, with the words marked
    in the text of each job of the page.
    """

    plan: str
    wall_s: float
    cpu_s: float
    marked_s: float = 0.0


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

    def quickest(self, asked: Asked, wanted: list[str], limit: int) -> ByHand:
        """The best plan, warm. wanted: the ids that it must give."""
        best = ByHand("", math.inf, math.inf)
        for name, (statement, values) in _plans(asked, limit).items():
            most_s = min(LONGEST_S, 1.5 * best.cpu_s + 0.001)
            spent, rows = self._run(statement, values, most_s)
            if spent.cpu_s < best.cpu_s and [row[1] for row in rows] == wanted:
                best = ByHand(name, *spent)
                keys = [row[0] for row in rows]
        if not best.plan:
            raise AssertionError(f"no plan by hand finds the jobs of {asked}")
        if not keys or not asked.words:
            return best._replace(marked_s=best.cpu_s)
        after_s = min(self._run(*one)[0].cpu_s for one in _marking(asked, keys))
        most_s = best.cpu_s + after_s
        marking = _words_first(asked, limit, f"{COLUMNS}, {MARKED}").values()
        at_once_s = min(self._run(*one, most_s)[0].cpu_s for one in marking)
        return best._replace(marked_s=min(most_s, at_once_s))

    def _run(
        self, statement: str, values: dict[str, object], most_s: float = LONGEST_S
    ) -> tuple[Spent, list[tuple[object, ...]]]:
        """The quickest of several times; without end where the first, not warm yet, takes longer
        than twice ``most_s``.
        """
        late = functools.partial(_later_than, time.process_time() + 2 * most_s)
        self._connection.set_progress_handler(late, STEPS)
        try:
            rows = self._connection.execute(statement, values).fetchall()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_INTERRUPT:
                raise
            return Spent(math.inf, math.inf), []
        self._connection.set_progress_handler(None, 0)
        spent = [
            timed(lambda: self._connection.execute(statement, values).fetchall())
            for _ in range(REPEATS)
        ]
        return Spent(min(one.wall_s for one in spent), min(one.cpu_s for one in spent)), rows


def _later_than(at: float) -> bool:
    return time.process_time() > at


Statement = tuple[str, dict[str, object]]


def _plans(asked: Asked, limit: int) -> dict[str, Statement]:
    """Those that are mostly quick first, as the others need not be run to their end then."""
    conditions, values = _conditions(asked)
    values["limit"] = limit
    plans = _words_first(asked, limit) if asked.words else {}
    plans |= {name: (text, values) for name, text in _values_first(asked).items()}
    every = f"SELECT {COLUMNS} FROM jobs j WHERE {' AND '.join(conditions) or '1'}"
    for name, order in (
        ("newest jobs first", "j.key DESC"),
        ("sets, sorted", "j.created_at DESC, j.id DESC"),
    ):
        plans[name] = f"{every} ORDER BY {order} LIMIT :limit", values
    return plans


def _values_first(asked: Asked) -> dict[str, str]:
    """From the values of the first range to their jobs."""
    if not asked.tests:
        return {}
    of_words = {
        "values first, words": " AND t.rowid IN (SELECT rowid FROM texts WHERE texts MATCH :words)",
        "values first, each": " AND EXISTS"
        " (SELECT 1 FROM texts WHERE texts MATCH :words AND texts.rowid = j.key)",
    }
    return {
        name: f"SELECT {COLUMNS} FROM (SELECT DISTINCT v.job AS rowid {_values(0)}) t"
        f" CROSS JOIN jobs j ON j.key = t.rowid WHERE 1{match if asked.words else ''}{_rest(asked)}"
        " ORDER BY j.key DESC LIMIT :limit"
        for name, match in of_words.items()
    }


def _words_first(asked: Asked, limit: int, columns: str = COLUMNS) -> dict[str, Statement]:
    """Along the matches, the newest first; the values of each job looked up, or made a set."""
    conditions, values = _conditions(asked)
    as_sets = "".join(
        f" AND +texts.rowid IN (SELECT v.job {_values(at)})" for at, _ in enumerate(asked.tests)
    )
    others = "".join(f" AND {one}" for one in conditions[1 + len(asked.tests) :])
    beginning = (
        f"SELECT {columns} FROM texts CROSS JOIN jobs j ON j.key = texts.rowid"
        " WHERE texts MATCH :words"
    )
    since = " AND texts.rowid >= :since" if asked.since else ""
    end = f"{since} ORDER BY texts.rowid DESC LIMIT :limit"
    values["limit"] = limit
    return {
        "words first": (f"{beginning}{_rest(asked)}{end}", values),
        "words first, values as a set": (f"{beginning}{as_sets}{others}{end}", values),
    }


def _rest(asked: Asked) -> str:
    """All conditions but the words, the values looked up for each job."""
    conditions, _ = _conditions(asked)
    of_values = [
        f"EXISTS (SELECT 1 {_values(at)} AND v.job = j.key)" for at, _ in enumerate(asked.tests)
    ]
    others = conditions[bool(asked.words) + len(asked.tests) :]
    return "".join(f" AND {condition}" for condition in (*of_values, *others))


def _marking(asked: Asked, keys: list[object]) -> Iterator[Statement]:
    """Two ways to mark the words in the texts of these jobs."""
    values: dict[str, object] = {f"k{at}": key for at, key in enumerate(keys)}
    these = ", ".join(f":{name}" for name in values)
    values |= {"words": _expression(asked.words), "low": keys[-1], "high": keys[0]}
    marked = f"SELECT rowid, {MARKED} FROM texts WHERE texts MATCH :words AND"
    yield f"{marked} rowid IN ({these})", values
    yield f"{marked} rowid BETWEEN :low AND :high AND +rowid IN ({these})", values


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
        found.append("j.key >= :since")
        bound["since"] = int(asked.since.timestamp()) * KEYS_A_SECOND
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
