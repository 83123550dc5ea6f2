"""What the tables of the index hold of one job."""

from __future__ import annotations

import hashlib
import json
import operator
from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple

from recorder.archive.index import rows
from recorder.archive.index.database import Row
from recorder.archive.index.keys import in_utc
from recorder.archive.index.runs import runs_in
from recorder.archive.index.schema import RUNS
from recorder.model.belt import BELT_FIELDS, folded
from recorder.model.job import Job, in_force
from recorder.model.past import STREAMS, PastRun

_NUMBER_OF_KEYS = 4 + len(STREAMS)  # columns of RUNS by which it is found: they come first
_AS_IT_IS = operator.attrgetter(*(c.name for c in list(RUNS.columns)[_NUMBER_OF_KEYS:]))


class Entry(NamedTuple):
    """at: when the job was made. job: columns of JOBS but the key. runs: those of RUNS but the job.
    belts: rows of BELTS that the runs want, each once.
    """

    at: datetime
    job: Mapping[str, str | int | None]
    values: tuple[rows.ValueRow, ...]
    passages: tuple[rows.Passage, ...]
    runs: tuple[Row, ...]
    belts: tuple[Row, ...]

    @property
    def id(self) -> str:
        return str(self.job["id"])

    @property
    def lines(self) -> list[str]:
        return [passage.text for passage in self.passages]


def entry(job: Job, stamp: str) -> Entry:
    """stamp: of the record on disk."""
    known = in_force(job.readings)
    customer, outcome = (known[n].value if n in known else None for n in ("customer", "outcome"))
    columns = {
        "id": job.id,
        "created_at": moment(job.created_at),
        "title": rows.one_line(job.title()),
        "customer": None if customer is None else str(customer),
        "outcome": None if outcome is None else str(outcome),
        "complete": int(job.complete),
        "main": json.dumps(rows.main_values(known), ensure_ascii=False),
        "stamp": stamp,
    }
    told = rows.told(job)
    runs = [(run, _belt(run)) for run in runs_in(job, told)]
    return Entry(
        job.created_at,
        columns,
        tuple(rows.values(job, told)),
        tuple(rows.passages(job, told)),
        tuple(_run(run, belt[0]) for run, belt in runs),
        tuple(dict.fromkeys(belt for _, belt in runs)),
    )


def moment(at: datetime) -> str:
    """A time as text that sorts by time."""
    return in_utc(at).isoformat(timespec="microseconds")


def belt_key(belt: Row) -> int:
    """A number for a belt that is the same in every index; two in 2**63 share one."""
    told = json.dumps(belt).encode()
    return int.from_bytes(hashlib.sha256(told).digest()[:8]) >> 1


def _belt(run: PastRun) -> Row:
    """What runs on the same belt have in common, behind its key."""
    told = tuple(getattr(run, name) for name in BELT_FIELDS)
    belt = (_folded(run.belt_material), *told[1:])
    return (belt_key(belt), *belt)


def _run(run: PastRun, belt: int) -> Row:
    names = (_folded(getattr(run, stream)) for stream in STREAMS)
    return (run.splice, run.run, belt, *names, *_AS_IT_IS(run))


def _folded(name: str | None) -> str | None:
    return None if name is None else folded(name)
