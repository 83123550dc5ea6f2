"""Whether record, events and the chains of other devices fit each other; nothing is changed."""

from __future__ import annotations

from pathlib import Path

from recorder.archive.disk import atomic
from recorder.archive.jobs import events, schemas, writing
from recorder.archive.jobs.adopting import MERGED
from recorder.archive.jobs.events import Chain
from recorder.archive.jobs.originals import tame
from recorder.errors import BadJobFolder
from recorder.model.event import FILE_NAME as EVENTS
from recorder.model.event import What
from recorder.model.evidence import EventsDigest, digest
from recorder.model.job import FILE_NAME as RECORD


def faults(folder: Path, content: bytes) -> tuple[str, ...]:
    """One line for each way in which they do not. content: of job.json."""
    path = folder / EVENTS
    try:
        chain = events.read(path)
    except BadJobFolder as error:
        return (str(error),)
    told = [f"{path}, {fault}" for fault in chain.faults]
    if not told:
        told += _against_record(folder, content, chain)
    return (*told, *_of_others(folder, chain))


def interrupted(folder: Path) -> bool:
    """Whether a saving was cut off before it was acknowledged, or is under way; what it left, the
    next one mends. Raises BadJobFolder.
    """
    if atomic.staged(folder / RECORD) or any((folder / "reports").glob(".*.tmp")):
        return True
    chain = events.read(folder / EVENTS)
    return chain.torn and not chain.faults


def holds(folder: Path, told: EventsDigest) -> bool:
    """Whether the events of a job, or those that were merged in or put aside, hold the ones of
    which a report tells. Raises BadJobFolder.
    """
    paths = [folder / EVENTS, *sorted((folder / MERGED).glob("*.jsonl"))]
    return not told.count or any(
        (event.seq, event.hash) == (told.count, told.head)
        for path in paths
        for event in events.read(path).events
    )


def _against_record(folder: Path, content: bytes, chain: Chain) -> list[str]:
    path, record = folder / EVENTS, folder / RECORD
    if not chain.events:
        if (schemas.version_of(content) or 0) < writing.FIRST_WITH_EVENTS:
            return []
        return [f"{path} holds no event" if path.exists() else f"{path} is missing"]
    if digest(content) == chain.record or writing.waiting(record, chain.record):
        return []
    told = [f"{record} is not the record that the last event left: it was changed by other hands"]
    return [f"{path} ends in the middle of a saving", *told] if chain.torn else told


def _of_others(folder: Path, chain: Chain) -> list[str]:
    """Chains that were merged in must be whole; one that was put aside is as it was.

    A file that no event names is what a killed merge left.
    """
    told: list[str] = []
    for what, name in _named(chain):
        path = folder / MERGED / f"{tame(name)}.jsonl"
        try:
            content = path.read_bytes()
        except OSError:
            told.append(f"{path} is missing")
            continue
        if digest(content) != name:
            told.append(f"{path} is not the file of events that was taken in")
        elif what is What.MERGED:
            told += [f"{path}, {fault}" for fault in events.chain_in(content).faults]
    return told


def _named(chain: Chain) -> list[tuple[What, str]]:
    """The files of events that events name: their SHA-256, and by what kind of event."""
    found: dict[tuple[What, str], None] = {}
    for event in chain.events:
        if event.what in (What.MERGED, What.ADOPTED):
            others = event.data.get("chains")
            names = [event.data.get("chain"), *(others if isinstance(others, list) else [])]
            found |= {(event.what, str(name)): None for name in names if name}
    return list(found)
