"""A record without events that fit it is taken into the chain as it was found."""

from __future__ import annotations

import contextlib
from datetime import datetime
from pathlib import Path

from pydantic import JsonValue, ValidationError

from recorder.archive.disk import atomic
from recorder.archive.jobs import events, schemas, writing
from recorder.archive.jobs.events import Chain, Happened
from recorder.archive.jobs.writing import State
from recorder.model.event import FILE_NAME as EVENTS
from recorder.model.event import What
from recorder.model.evidence import digest
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.report_record import ReportRecord

MERGED = "merged"  # folder of the chains that are not this device's, or that were put aside


def begun(folder: Path, state: State) -> State:
    """The state with a chain: an earlier version's job gets its first event. OutputUnwritable."""
    if state.chain.events:
        return state
    version = schemas.version_of(state.content)
    reason = f"it is of schema {version}, which had no events"
    return _appended(folder, state, _adopted(folder, state.content, reason))


def adopt(folder: Path, content: bytes, reason: str) -> State:
    """Take job.json as it is. content: its bytes. A broken file of events is put aside.

    For a caller who holds the lock. Raises BadJobFolder, OutputUnwritable.
    """
    path = folder / EVENTS
    chain = events.read(path)
    atomic.sweep(folder / RECORD)
    if not (chain.faults or chain.torn):
        told = _adopted(folder, content, reason, instead_of=chain.record)
        return _appended(folder, State(content, chain), told)
    told = _adopted(folder, content, reason, chain=keep_chain(folder, path.read_bytes()))
    now = datetime.now().astimezone()
    atomic.write(path, events.lines(Chain(), [told], digest(content), now))
    return State(content, events.read(path))


def keep_chain(folder: Path, content: bytes) -> str:
    """Put a file of events beside those of the job, byte for byte; its SHA-256, which names it.

    Raises OutputUnwritable.
    """
    name = digest(content)
    kept = folder / MERGED / f"{name}.jsonl"
    atomic.make_folder(kept.parent)
    atomic.write(kept, content)
    return name


def _adopted(folder: Path, content: bytes, reason: str, **more: JsonValue) -> Happened:
    reports: list[JsonValue] = [*_reports(folder, content)]
    return What.ADOPTED, {"job": folder.name, "reason": reason, "reports": reports, **more}


def _appended(folder: Path, state: State, told: Happened) -> State:
    with writing.announced(folder, state.chain, [told], digest(state.content)):
        pass
    return State(state.content, events.read(folder / EVENTS))


def _reports(folder: Path, content: bytes) -> list[str]:
    """SHA-256 of the reports that are known already, as far as their records can be read."""
    found: list[str] = []
    with contextlib.suppress(ValidationError):
        found += [record.sha256 for record in schemas.reports_in(content)]
    for path in sorted((folder / "reports").glob("*.json")):
        with contextlib.suppress(OSError, ValidationError):
            found.append(ReportRecord.model_validate_json(path.read_bytes()).sha256)
    return list(dict.fromkeys(found))
