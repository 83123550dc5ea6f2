"""Whether record, events and the chains of other devices fit each other; nothing is changed."""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

from pydantic import ValidationError

from recorder.archive.disk import atomic
from recorder.archive.jobs import events, schemas, writing
from recorder.archive.jobs.adopting import MERGED
from recorder.archive.jobs.events import Chain
from recorder.archive.jobs.originals import tame
from recorder.errors import BadJobFolder
from recorder.model.event import FILE_NAME as EVENTS
from recorder.model.event import Event, What
from recorder.model.evidence import EventsDigest, digest
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.plural import counted
from recorder.model.reading import Reading


def faults(folder: Path, content: bytes) -> tuple[str, ...]:
    """One line for each way in which they do not. content: of job.json."""
    path = folder / EVENTS
    try:
        chain = events.read(path)
    except BadJobFolder as error:
        return (str(error),)
    told = [f"{path}, {fault}" for fault in events.told(chain.faults)]
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
    """Whether the events of a job, or those that were merged in or put aside, lead to the one of
    which a report tells. Behind a line that was changed they lead nowhere. Raises BadJobFolder.
    """
    chain = events.read(folder / EVENTS)
    return (
        not told.count
        or _leads_to(chain, told)
        or any(_leads_to(other, told) for other in _others(folder, chain))
    )


def _leads_to(chain: Chain, told: EventsDigest) -> bool:
    unbroken = all(fault.number > told.count for fault in chain.faults)
    return unbroken and any(
        (event.seq, event.hash) == (told.count, told.head) for event in chain.events
    )


def _others(folder: Path, chain: Chain) -> Iterator[Chain]:
    """The chains that events name, as far as they are those that were taken in."""
    for _, name in named_chains(chain.events):
        with contextlib.suppress(OSError):
            content = (folder / MERGED / f"{tame(name)}.jsonl").read_bytes()
            if digest(content) == name:
                yield events.chain_in(content)


def _against_record(folder: Path, content: bytes, chain: Chain) -> list[str]:
    path, record = folder / EVENTS, folder / RECORD
    if not chain.events:
        if (schemas.version_of(content) or 0) < writing.FIRST_WITH_EVENTS:
            return []
        return [f"{path} holds no event" if path.exists() else f"{path} is missing"]
    if digest(content) == chain.record:
        return _untold(record, content, chain)
    if writing.unnamed(folder, content, chain):
        return []
    told = [f"{record} is not the record that the last event left: it was changed by other hands"]
    return [f"{path} ends in the middle of a saving", *told] if chain.torn else told


def _untold(path: Path, content: bytes, chain: Chain) -> list[str]:
    """Whether the record holds readings of which no event tells, as by a made-up last event. Of a
    record that was taken as it was found they do not tell each.
    """
    if any(event.what in (What.ADOPTED, What.RESTORED) for event in chain.events):
        return []
    try:
        readings = schemas.job_in(content).readings
    except ValidationError:  # whoever loads the job tells
        return []
    untold = Counter(map(Reading.model_dump_json, readings)) - Counter(_told(chain))
    number = counted(untold.total(), "reading")
    return [f"{path} holds {number} of which no event tells"] if untold else []


def _told(chain: Chain) -> Iterator[str]:
    """The readings of which events tell, as JSON. A chain may be anybody's."""
    for event in chain.events:
        values = [event.data.get("reading")]
        if event.what is What.MERGED:
            came, asked = event.data.get("readings"), event.data.get("questions")
            each = came if isinstance(came, list) else []
            values = [one.get("reading") for one in each if isinstance(one, dict)]
            values += asked if isinstance(asked, list) else []
        for value in values:
            with contextlib.suppress(ValidationError):
                yield Reading.model_validate(value).model_dump_json()


def _of_others(folder: Path, chain: Chain) -> list[str]:
    """Chains that were merged in must be whole; one that was put aside is as it was.

    A file that no event names is what a killed merge left.
    """
    told: list[str] = []
    for what, name in named_chains(chain.events):
        path = folder / MERGED / f"{tame(name)}.jsonl"
        try:
            content = path.read_bytes()
        except OSError:
            told.append(f"{path} is missing")
            continue
        if digest(content) != name:
            told.append(f"{path} is not the file of events that was taken in")
        elif what is What.MERGED:
            found = events.told(events.chain_in(content).faults)
            told += [f"{path}, {fault}" for fault in found]
    return told


def named_chains(told: Iterable[Event]) -> list[tuple[What, str]]:
    """The files of events that events name: by what kind of event, and their SHA-256."""
    found: dict[tuple[What, str], None] = {}
    for event in told:
        if event.what in (What.MERGED, What.ADOPTED):
            others = event.data.get("chains")
            names = [event.data.get("chain"), *(others if isinstance(others, list) else [])]
            found |= {(event.what, str(name)): None for name in names if name}
    return list(found)
