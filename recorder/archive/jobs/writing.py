"""The record of a job and its events are written together; what a crash left is mended.

::

    1. the new job.json (or PDF of a report) to the disk, under a temporary name
    2. the events of it to the end of events.jsonl, to the disk
    3. the temporary name becomes the true one, to the disk

Cut off before 2 is through, nothing has happened: what 1 and 2 left is taken away. Cut off before
3, all has happened and only the name is missing: the next writer gives it. A caller is told of a
success after 3 only. All of it is for callers who hold the lock of the folder.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pydantic import ValidationError

from recorder.archive.disk import atomic
from recorder.archive.disk.home import cause
from recorder.archive.jobs import events, schemas
from recorder.archive.jobs.events import Chain, Happened
from recorder.archive.jobs.originals import tame
from recorder.errors import OutputUnwritable, RecordChanged
from recorder.model.event import FILE_NAME as EVENTS
from recorder.model.event import Event, What
from recorder.model.evidence import digest
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.report_record import ReportRecord
from recorder.model.report_record import dump as dump_report

FIRST_WITH_EVENTS = 3  # schema of job.json


@dataclass(frozen=True)
class State:
    """What a folder holds. content: of its job.json. chain: of its events, which fit it."""

    content: bytes
    chain: Chain


def settle(folder: Path, content: bytes) -> State:
    """Finish or undo what an interrupted writer left behind. content: of job.json.

    Raises RecordChanged where record and events do not fit each other for another reason, then
    BadJobFolder, OutputUnwritable.
    """
    path, record = folder / EVENTS, folder / RECORD
    chain = events.read(path)
    if chain.faults:
        raise RecordChanged(path=path, detail=str(chain.faults[0]), job=folder.name)
    if not chain.events:
        if (schemas.version_of(content) or 0) >= FIRST_WITH_EVENTS:
            raise RecordChanged(path=path, detail="it holds no event", job=folder.name)
    elif digest(content) != chain.record:
        staged = unnamed(folder, content, chain)
        if staged is None:
            detail = "it is not the record that the last event left"
            raise RecordChanged(path=record, detail=detail, job=folder.name)
        content = staged.read_bytes()
        atomic.put(staged, record)
    if chain.torn:
        _cut(path, chain.whole_bytes)
    atomic.sweep(record)
    _finish_reports(folder / "reports", chain)
    return State(content, chain)


def unnamed(folder: Path, content: bytes, chain: Chain) -> Path | None:
    """The record that the last saving left under its temporary name, because it was cut off before
    3. Then job.json is the record of the saving before; any other was changed by other hands.
    """
    earlier = (event.record for event in reversed(chain.events[:-1]) if not event.more)
    if digest(content) != next(earlier, ""):
        return None
    return waiting(folder / RECORD, chain.record)


def waiting(path: Path, sha256: str) -> Path | None:
    """The file with this content that was to take the place of ``path``."""
    for staged in atomic.staged(path):
        with contextlib.suppress(OSError):
            if digest(staged.read_bytes()) == sha256:
                return staged
    return None


def save(folder: Path, state: State, content: bytes, batch: Sequence[Happened]) -> None:
    """Replace job.json, by what happened. OutputUnwritable, and then the old state stands."""
    record = folder / RECORD
    staged = atomic.stage(record, content)
    with announced(folder, state.chain, batch, digest(content), staged):
        atomic.put(staged, record)


@contextlib.contextmanager
def announced(
    folder: Path, chain: Chain, batch: Sequence[Happened], record: str, staged: Path | None = None
) -> Iterator[None]:
    """Write events; inside, what they tell of is brought about by putting ``staged`` in place.

    They are taken back when that fails and ``staged`` is still there. record: SHA-256 of the
    job.json that is left. Raises OutputUnwritable.
    """
    path = folder / EVENTS
    try:
        more = events.lines(chain, batch, record, datetime.now().astimezone())
        try:
            events.append(path, more)
            if not chain.events:
                atomic.sync_folder(folder)
        except OSError as error:
            raise OutputUnwritable(path=path, detail=cause(error)) from error
        yield
    except BaseException:
        if staged is None or staged.exists():
            with contextlib.suppress(OSError, OutputUnwritable):
                _cut(path, chain.whole_bytes)
                if staged:  # only now: while the events stand, the next writer needs it
                    staged.unlink()
        raise


def _cut(path: Path, size_bytes: int) -> None:
    try:
        if path.exists() and path.stat().st_size > size_bytes:
            events.cut(path, size_bytes)
    except OSError as error:
        raise OutputUnwritable(path=path, detail=cause(error)) from error


def _finish_reports(reports: Path, chain: Chain) -> None:
    """Reports that events tell of get their names; copies that none tells of go."""
    staged = list(reports.glob(".*.tmp"))
    told = {record.sha256: record for record in told_reports(chain.events)} if staged else {}
    for each in staged:
        with contextlib.suppress(OSError):
            record = told.get(digest(each.read_bytes()))
            path = reports / f"{tame(Path(record.path).stem)}.pdf" if record else each
            if record and not path.exists():
                atomic.write(path.with_suffix(".json"), dump_report(record))
                atomic.put(each, path)
            else:
                each.unlink()


def told_reports(told: Iterable[Event]) -> Iterator[ReportRecord]:
    """What events say of reports that were kept, oldest first."""
    for event in told:
        if event.what is What.REPORTED:
            with contextlib.suppress(ValidationError):
                yield ReportRecord.model_validate(event.data.get("report"))
