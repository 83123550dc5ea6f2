"""The reports of a job: each PDF in ``reports/`` with what is known of it in a file beside it.

::

    reports/4817_20261125-143205.pdf
    reports/4817_20261125-143205.json    its ReportRecord

The record of the job is not touched by writing a report, so that the job.json in the PDF is the
one on disk, byte for byte. A PDF is never replaced.
"""

from __future__ import annotations

import contextlib
import hashlib
import itertools
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from pydantic import JsonValue, ValidationError

from recorder.archive.disk import atomic, lock
from recorder.archive.jobs import events, schemas, writing
from recorder.archive.jobs.events import Chain
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.originals import tame
from recorder.errors import BadJobFolder
from recorder.model.event import What
from recorder.model.evidence import digest
from recorder.model.report_record import ReportRecord, Variant
from recorder.model.report_record import dump as dump_report


def keep_report(
    folder: JobFolder, stem: str, pdf: bytes, *, written_at: datetime, signer: str,
    signatures: int, document_digest: str, variant: Variant | None,
) -> ReportRecord:  # fmt: skip
    """Write a PDF and its record into ``reports`` under ``stem``, or under ``stem-2`` and so on
    where that is taken; the other values are those of the record.

    Raises RecordChanged, BadJobFolder, OutputUnwritable, Busy.
    """
    record = ReportRecord(
        path=f"reports/{tame(stem)}.pdf",
        sha256=hashlib.sha256(pdf).hexdigest(),
        size_bytes=len(pdf),
        written_at=written_at,
        signer=signer,
        signatures=signatures,
        document_digest=document_digest,
        variant=variant,
    )
    return take_in(folder, pdf, record)


def take_in(
    folder: JobFolder, pdf: bytes, record: ReportRecord, arrived: bool = False
) -> ReportRecord:
    """Write a PDF and its record under the name in ``record.path``, or the next free one.

    arrived: it was written elsewhere, after events that may not be here. Raises as
    ``keep_report``.
    """
    with lock.held(folder.path):
        state = folder.settled()
        path = _free_path(folder.reports, tame(Path(record.path).stem))
        placed = record.model_copy(update={"path": f"reports/{path.name}"})
        data: dict[str, JsonValue] = {"report": placed.model_dump(mode="json")}
        if arrived:
            data["arrived"] = True
        atomic.make_folder(folder.reports)
        staged = atomic.stage(path, pdf)
        told = [(What.REPORTED, data)]
        with writing.announced(folder.path, state.chain, told, digest(state.content), staged):
            _put(staged, path, dump_report(placed))
    return placed


def _put(staged: Path, path: Path, record: bytes) -> None:
    """Give a PDF its name, once its record stands beside it."""
    beside = path.with_suffix(".json")
    try:
        atomic.write(beside, record)
        atomic.put(staged, path)
    except BaseException:
        if staged.exists():
            beside.unlink(missing_ok=True)
        raise


def place(folder: JobFolder, pdf: bytes, record: ReportRecord) -> ReportRecord:
    """Write a PDF and its record under the name in ``record.path``, or the next free one.

    For a folder that is arriving. Raises OutputUnwritable.
    """
    path = _free_path(folder.reports, Path(record.path).stem)
    placed = record.model_copy(update={"path": f"reports/{path.name}"})
    atomic.make_folder(folder.reports)
    atomic.write(path, pdf)
    atomic.write(path.with_suffix(".json"), dump_report(placed))
    return placed


def reports(folder: JobFolder) -> tuple[ReportRecord, ...]:
    """What is known of the reports of a job, oldest first. Raises BadJobFolder."""
    known = {record.path: record for record in (*_in_record(folder), *_beside(folder))}
    return tuple(sorted(known.values(), key=_age))


def faults(folder: JobFolder) -> tuple[str, ...]:
    """One line for each report that is not as its record says, for each record that is not as it
    was written, and for each of the two without the other.
    """
    found: list[str] = []
    known: dict[Path, ReportRecord] = {}
    for path in sorted(folder.reports.glob("*.json")):
        try:
            known[path.with_suffix(".pdf")] = _read(path)
        except (OSError, ValidationError):
            found.append(f"{path} cannot be read: bad record {path.name}")
            known.pop(path.with_suffix(".pdf"), None)
    for record in _in_record(folder):
        known.setdefault(_place(folder, record), record)
    found += [line for path, record in known.items() if (line := _fault(path, record))]
    strays = set(folder.reports.glob("*.pdf")) - {path.with_suffix(".pdf") for path in known}
    found += [
        f"{path} has no record beside it"
        for path in sorted(strays)
        if not path.with_suffix(".json").exists()
    ]
    return (*found, *_against_events(folder, known))


def from_elsewhere(folder: JobFolder) -> set[str]:
    """Document digests of the reports that came in from elsewhere. Raises BadJobFolder."""
    came: set[str] = set()
    for event in events.read(folder.events).events:
        if event.what is What.RESTORED:
            came.add(str(event.data.get("sha256")))
        elif event.what is What.REPORTED and event.data.get("arrived"):
            came |= {record.sha256 for record in writing.told_reports([event])}
    return {record.document_digest for record in reports(folder) if record.sha256 in came}


def unknown_to_events(folder: JobFolder) -> tuple[str, ...]:
    """One line for each report of which no event tells. Raises BadJobFolder."""
    return _unknown(folder, events.read(folder.events), reports(folder))


def _unknown(folder: JobFolder, chain: Chain, records: Iterable[ReportRecord]) -> tuple[str, ...]:
    if not chain.events:  # of an earlier version, or a fault of the events themselves
        return ()
    told = {(record.path, record.sha256) for record in writing.told_reports(chain.events)}
    listed: set[str] = set()  # those that were there before the chain
    for event in chain.events:
        earlier = event.data.get("reports")
        if event.what is What.RESTORED:
            listed.add(str(event.data.get("sha256")))
        elif event.what is What.ADOPTED and isinstance(earlier, list):
            listed |= set(map(str, earlier))
    return tuple(
        f"{_place(folder, record)} is a report of which no event tells"
        for record in records
        if (record.path, record.sha256) not in told and record.sha256 not in listed
    )


def _place(folder: JobFolder, record: ReportRecord) -> Path:
    """Where the PDF lies. Only names that this program gives lead anywhere."""
    return folder.reports / f"{tame(Path(record.path).stem)}.pdf"


def _fault(path: Path, record: ReportRecord) -> str:
    try:
        with path.open("rb") as file:
            same = hashlib.file_digest(file, "sha256").hexdigest() == record.sha256
    except OSError:
        return "" if writing.waiting(path, record.sha256) else f"{path} is missing"
    return "" if same else f"{path} is not the report that was written"


def _against_events(folder: JobFolder, known: dict[Path, ReportRecord]) -> list[str]:
    """Records that are not those of which events tell, and what only one of the two knows."""
    found: list[str] = []
    chain = events.read(folder.events)
    for told in writing.told_reports(chain.events):
        path = _place(folder, told)
        beside = path.with_suffix(".json")
        if path in known and known[path] != told:
            found.append(f"{beside} is not the record that was written")
        elif path not in known and not beside.exists() and not writing.waiting(path, told.sha256):
            found.append(f"{beside} is missing, of which an event tells")
    return [*found, *_unknown(folder, chain, known.values())]


def _age(record: ReportRecord) -> tuple[datetime, int, str]:
    """By time, and in one second 'stem' before 'stem-2' before 'stem-10'."""
    at = record.written_at
    return at if at.tzinfo else at.replace(tzinfo=UTC), len(record.path), record.path


def _free_path(place: Path, stem: str) -> Path:
    names = itertools.chain([stem], (f"{stem}-{number}" for number in itertools.count(2)))
    paths = (place / f"{name}.pdf" for name in names)
    return next(p for p in paths if not p.exists() and not p.with_suffix(".json").exists())


def _in_record(folder: JobFolder) -> tuple[ReportRecord, ...]:
    """Of schema 1; nothing where the record of the job cannot be read, which others tell, or was
    written in another home, where those reports are.
    """
    if folder.restored_mark.exists():
        return ()
    with contextlib.suppress(BadJobFolder, ValidationError):
        return schemas.reports_in(folder.read()[0])
    return ()


def _beside(folder: JobFolder) -> Iterator[ReportRecord]:
    for path in sorted(folder.reports.glob("*.json")):
        try:
            yield _read(path)
        except (OSError, ValidationError) as error:
            raise BadJobFolder(path=folder.path, detail=f"bad record {path.name}") from error


def _read(path: Path) -> ReportRecord:
    """Of the PDF beside it, whatever it says: a path in it could lead anywhere."""
    record = ReportRecord.model_validate_json(path.read_bytes())
    return record.model_copy(update={"path": f"reports/{path.stem}.pdf"})
