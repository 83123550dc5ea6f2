"""What the tables of the index hold of one job."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple

from recorder.archive.index import rows
from recorder.archive.index.keys import in_utc
from recorder.archive.index.runs import runs_in
from recorder.model.belt import BELT_FIELDS, folded
from recorder.model.job import Job, in_force
from recorder.model.past import PastRun


class Entry(NamedTuple):
    """at: when the job was made. job: columns of JOBS but the key."""

    at: datetime
    job: Mapping[str, str | int | None]
    values: tuple[rows.ValueRow, ...]
    passages: tuple[rows.Passage, ...]
    runs: tuple[PastRun, ...]

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
    return Entry(
        job.created_at,
        columns,
        tuple(rows.values(job, told)),
        tuple(rows.passages(job, told)),
        tuple(runs_in(job, told)),
    )


def moment(at: datetime) -> str:
    """A time as text that sorts by time."""
    return in_utc(at).isoformat(timespec="microseconds")


def belt_of(run: PastRun) -> tuple[str | float | None, ...]:
    """What runs on the same belt have in common, in the order of ``BELT_FIELDS``."""
    told = tuple(getattr(run, name) for name in BELT_FIELDS)
    return (None if run.belt_material is None else folded(run.belt_material), *told[1:])


def belt_key(belt: tuple[str | float | None, ...]) -> int:
    """A number for a belt that is the same in every index; two in 2**63 share one."""
    told = json.dumps(belt).encode()
    return int.from_bytes(hashlib.sha256(told).digest()[:8]) >> 1
