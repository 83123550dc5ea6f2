"""The events of a job, one a line, each bound to the one before by its hash.

::

    {"seq":2,"at":"…","who":{…},"what":"heard","data":{…},"more":0,"record":"…",
     "previous":"<hash of line 1>","hash":"<SHA-256>"}

A line is compact JSON of an Event, its keys in the order of the model. ``hash`` is the SHA-256 of
the bytes of the line before ``,"hash":"``. So a few lines with hashlib recompute the chain, and
whoever changes, removes or adds an event must change every line that follows, and the record.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pydantic import JsonValue, ValidationError

from recorder.archive.disk.atomic import need_regular
from recorder.archive.disk.home import cause
from recorder.archive.jobs.acting import actor
from recorder.errors import BadJobFolder
from recorder.model.event import NOTHING_BEFORE, Event, What
from recorder.model.plural import counted

Happened = tuple[What, dict[str, JsonValue]]

_LINE = re.compile(rb'(?P<told>\{.*),"hash":"(?P<hash>[0-9a-f]{64})"\}', re.DOTALL)


@dataclass(frozen=True)
class BadLine:
    """number: of the line, from 1. reason: for people."""

    number: int
    reason: str

    def __str__(self) -> str:
        return f"line {self.number}: {self.reason}"


@dataclass(frozen=True)
class Chain:
    """What a file of events holds.

    events: the sound ones of finished savings. faults: the lines that are none. torn: behind them
    stands the beginning of a saving that did not finish. whole_bytes: size without that.
    """

    events: tuple[Event, ...] = ()
    faults: tuple[BadLine, ...] = ()
    torn: bool = False
    whole_bytes: int = 0

    @property
    def head(self) -> str:
        """Hash of the last event."""
        return self.events[-1].hash if self.events else NOTHING_BEFORE

    @property
    def record(self) -> str:
        """SHA-256 of the job.json that the last event left; empty when there is no event."""
        return self.events[-1].record if self.events else ""


def read(path: Path) -> Chain:
    """The chain in a file; an empty one where there is none. Raises BadJobFolder."""
    try:
        need_regular(path)
        return chain_in(path.read_bytes())
    except FileNotFoundError:
        return Chain()
    except OSError as error:
        raise BadJobFolder(path=path.parent, detail=f"{path.name}: {cause(error)}") from error


def chain_in(content: bytes) -> Chain:
    """The chain in the content of a file of events, which may have been written by anybody."""
    *lines, rest = content.split(b"\n")
    events: list[Event] = []
    faults: list[BadLine] = []
    before: Event | None = None
    for number, line in enumerate(lines, 1):
        event, reason = _event_in(line)
        if event and not reason:
            reason = _misplaced(event, number, before)
        if reason:
            faults.append(BadLine(number, reason))
        elif event:
            events.append(event)
        before = event
    if faults:
        return Chain(tuple(events), tuple(faults), torn=bool(rest))
    finished = next((n for n in range(len(events), 0, -1) if not events[n - 1].more), 0)
    return Chain(
        events=tuple(events[:finished]),
        torn=bool(rest) or finished < len(events),
        whole_bytes=sum(len(line) + 1 for line in lines[:finished]),
    )


def told(faults: Sequence[BadLine]) -> list[str]:
    """For people: of faults of one kind in adjacent lines the first, and how many there are.

    One event that was taken away leaves a fault in each line behind it.
    """
    runs: list[list[BadLine]] = []
    for fault in faults:
        last = runs[-1][-1] if runs else None
        if last and fault.number == last.number + 1 and _kind(fault) == _kind(last):
            runs[-1].append(fault)
        else:
            runs.append([fault])
    return [
        f"{run[0]} (so too {counted(len(run) - 1, 'line')} behind it)" if run[1:] else str(run[0])
        for run in runs
    ]


def _kind(fault: BadLine) -> str:
    return re.sub(r"\d+", "", fault.reason)


def _event_in(line: bytes) -> tuple[Event | None, str]:
    """The event in a line as far as it can be read, and what is wrong with the line."""
    form = _LINE.fullmatch(line)
    if not form:
        return None, "it is not an event"
    try:
        event = Event.model_validate_json(line)
    except ValidationError as error:
        return None, f"it is not an event ({error.errors(include_url=False)[0]['msg']})"
    same = hashlib.sha256(form["told"]).hexdigest() == event.hash
    return event, "" if same else "its hash is not that of its content: it was changed"


def _misplaced(event: Event, number: int, before: Event | None) -> str:
    """What is wrong with a sound event behind ``before``, of which nothing is said when it cannot
    be read.
    """
    if event.seq != number:
        return f"it is event {event.seq}: events were removed, added or moved"
    if before is None and number > 1:
        return ""
    if event.previous != (before.hash if before else NOTHING_BEFORE):
        return "it does not follow the event before it"
    if before and before.more and (event.more, event.record) != (before.more - 1, before.record):
        return "events that were written along with the one before it are missing"
    return ""


def lines(chain: Chain, batch: Sequence[Happened], record: str, at: datetime) -> bytes:
    """What one saving adds to a file of events. record: SHA-256 of the job.json that it leaves.

    at: with zone.
    """
    who = actor()
    made: list[bytes] = []
    previous = chain.head
    for number, (what, data) in enumerate(batch, 1):
        event = Event(
            seq=len(chain.events) + number, at=at, who=who, what=what, data=data,
            more=len(batch) - number, record=record, previous=previous, hash=NOTHING_BEFORE,
        )  # fmt: skip
        told = event.model_dump_json(exclude={"hash"}).encode().removesuffix(b"}")
        previous = hashlib.sha256(told).hexdigest()
        made.append(told + b',"hash":"' + previous.encode() + b'"}\n')
    return b"".join(made)


def append(path: Path, more: bytes) -> None:
    """Add lines to a file of events; on return they have reached the disk. Raises OSError, and
    then the file may end in a part of them.
    """
    with path.open("ab") as file:
        file.write(more)
        file.flush()
        os.fsync(file.fileno())


def cut(path: Path, size_bytes: int) -> None:
    """Take off what stands behind ``size_bytes``. Raises OSError."""
    with path.open("rb+") as file:
        file.truncate(size_bytes)
        os.fsync(file.fileno())
