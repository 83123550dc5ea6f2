"""Which jobs a query finds in a synthetic archive, by the generator's own knowledge.

Kept beside the jobs as arrays; nothing of it comes out of the index.
"""

from __future__ import annotations

import bisect
import itertools
from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.archive import jobs

Jobs = np.ndarray[Any, np.dtype[Any]]
FIELDS = ("top_temperature", "bottom_temperature", "pressure", "dwell_time", "belt_width",
          "finger_gap", "edge_offset", "bubbles", "cool_down_temperature", "preheat_temperature",
          "belt_thickness", "isolation_confirmed", "ambient_temperature")  # fmt: skip


@dataclass(frozen=True)
class Within:
    """A range of one field, in its canonical unit, as ``recorder.archive.finding.search.Range``."""

    field: str
    low: float = -np.inf
    high: float = np.inf
    low_open: bool = False
    high_open: bool = False


class Truth:
    """Jobs are numbers here, later ones larger."""

    def __init__(self, path: Path) -> None:
        """Read what ``Gathered.write`` wrote."""
        with np.load(path) as kept:
            held = {name: kept[name] for name in kept.files}
        self.ids: list[str] = held["ids"].tolist()
        self._number = {id_: number for number, id_ in enumerate(self.ids)}
        self.at, self.outcome = held["at"], held["outcome"]
        self.readings = int(held["readings"])
        self._keys: list[str] = held["keys"].tobytes().decode().split("\n")
        self._ends, self._postings = held["ends"], held["postings"]
        self._values = {name: held[f"values_{name}"] for name in FIELDS}

    def __len__(self) -> int:
        return len(self.ids)

    def with_word(self, word: str, last: bool = True) -> Jobs:
        """Whether each job has the word, or one that begins with it: that counts for the last word
        of a query and for those of three letters.
        """
        *_, whole = jobs.terms(word)
        begins = last or len(whole) >= 3
        first = bisect.bisect_left(self._keys, whole)
        end = bisect.bisect_left(self._keys, whole + ("\U0010ffff" if begins else "\0"))
        return self._having(first, end)

    def with_value(self, test: Within) -> Jobs:
        """Whether each job has a value that lies within, all of it."""
        number, low, high = self._values[test.field]
        fits = (low > test.low) if test.low_open else (low >= test.low)
        fits &= (high < test.high) if test.high_open else (high <= test.high)
        found = np.zeros(len(self), bool)
        found[number[fits].astype(int)] = True
        return found

    def in_order(self, ids: Iterable[str], name: str, descending: bool) -> list[float]:
        """The lowest value of a field of each job, or the highest, in the order of the jobs; NaN
        where one has none.
        """
        number, low, _ = self._values[name]
        extreme = np.full(len(self), -np.inf if descending else np.inf)
        (np.maximum if descending else np.minimum).at(extreme, number.astype(int), low)
        extreme[np.isinf(extreme)] = np.nan
        return [float(extreme[self._number[id_]]) for id_ in ids]

    def found(
        self,
        words: Sequence[str] = (),
        tests: Iterable[Within] = (),
        outcome: str | None = None,
        since: datetime | None = None,
    ) -> list[str]:
        """Ids of the jobs that fulfil everything, newest first."""
        fits = np.ones(len(self), bool)
        for place, word in enumerate(words, 1):
            fits &= self.with_word(word, last=place == len(words))
        for test in tests:
            fits &= self.with_value(test)
        if outcome is not None:
            fits &= self.outcome == outcome
        if since is not None:
            fits &= self.at >= since.timestamp()
        return [self.ids[number] for number in np.flatnonzero(fits)[::-1]]

    def _having(self, first: int, last: int) -> Jobs:
        begin = int(self._ends[first - 1]) if first else 0
        end = int(self._ends[last - 1]) if last else 0
        found = np.zeros(len(self), bool)
        found[self._postings[begin:end]] = True
        return found


@dataclass
class Gathered:
    """The truth about the jobs so far, which are added by rising number."""

    ids: list[str] = field(default_factory=list)
    at: list[float] = field(default_factory=list)
    outcome: list[str] = field(default_factory=list)
    readings: int = 0
    keys: dict[str, int] = field(default_factory=dict)
    of_key: array[int] = field(default_factory=lambda: array("i"))
    of_job: array[int] = field(default_factory=lambda: array("i"))
    values: dict[str, array[float]] = field(default_factory=dict)

    def add(self, one: jobs.Truth) -> None:
        number = len(self.ids)
        self.ids.append(one.id)
        self.at.append(one.at)
        self.outcome.append(one.outcome)
        self.readings += one.readings
        self.of_key.extend(self.keys.setdefault(term, len(self.keys)) for term in one.terms)
        self.of_job.extend(itertools.repeat(number, len(one.terms)))
        for name, low, high in one.values:
            self.values.setdefault(name, array("d")).extend((number, low, high))

    def write(self, path: Path) -> None:
        keys = sorted(self.keys)
        rank = np.empty(len(keys), np.int32)
        rank[[self.keys[key] for key in keys]] = np.arange(len(keys))
        of_key = rank[np.asarray(self.of_key)]
        order = np.argsort(of_key, kind="stable")
        values: dict[str, Any] = {
            f"values_{name}": np.asarray(self.values.get(name, ())).reshape(-1, 3).T
            for name in FIELDS
        }
        np.savez(
            path,
            ids=np.asarray(self.ids),
            at=np.asarray(self.at),
            outcome=np.asarray(self.outcome),
            readings=np.asarray(self.readings),
            keys=np.frombuffer("\n".join(keys).encode(), np.uint8),
            ends=np.cumsum(np.bincount(of_key, minlength=len(keys))),
            postings=np.asarray(self.of_job)[order],
            **values,
        )
