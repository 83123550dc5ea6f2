"""A signed report to the job that it was made of: what is attached to the PDF is enough.

::

    report ─► verify ─► attachments ─► job folder, with the report in it ─► originals, if given
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.originals import tame
from recorder.archive.jobs.reports import keep_report, reports
from recorder.archive.jobs.restored import elsewhere, job_in_report, put_back, restore
from recorder.errors import (
    BadJobFolder,
    CannotRestore,
    FileMissing,
    InputRefused,
    JobDiffers,
    JobTooNew,
    VerificationFailed,
)
from recorder.flows import verify
from recorder.flows.progress import Progress
from recorder.model.base import Value
from recorder.model.evidence import FILE_NAME as EVIDENCE
from recorder.model.evidence import Evidence, digest
from recorder.model.evidence import parse as parse_evidence
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.job import Job
from recorder.model.report_record import ReportRecord
from recorder.report.document.attachments import attached
from recorder.report.verifying.reasons import Doubt

_STRANGERS = {Doubt.SIGNER_UNKNOWN, Doubt.NAMESAKE}
# What a job holds that another state of it can hold otherwise, as a person calls it.
_PARTS = (
    "readings", "measurements", "media", "transcripts", "notes", "stages", "photos", "software",
)  # fmt: skip


Outcome = Literal["restored", "report added", "already here"]


class Restoration(Value):
    """What became of one report.

    file: the PDF that was given. job, title: what it holds. folder: where the job is now.
    outcome: 'restored', 'report added' to a job that was here, or 'already here'. signer: common
    name on the technician's key. known: this home knows who signed. brought: originals that were
    taken in. elsewhere: originals that still are not here.
    """

    file: str
    job: str
    title: str
    folder: Path
    outcome: Outcome
    signer: str
    known: bool
    brought: tuple[str, ...] = ()
    elsewhere: tuple[str, ...] = ()


def import_report(
    home: Home, pdf: Path, originals: Path | None, progress: Progress
) -> Restoration:  # fmt: skip
    """Take one report into the home.

    originals: a folder in which files of the job may lie, whatever they are called.
    Raises VerificationFailed for a report that is not as it was signed, CannotRestore for one
    that holds no usable job, JobDiffers where this home has the job in another state, and what
    reading and writing raise.
    """
    files = _files(originals) if originals else []
    progress.stage(f"verifying {pdf.name}")
    signed = _verified(home, pdf)
    content = pdf.read_bytes()
    if digest(content) != signed.sha256:
        raise CannotRestore(path=pdf, detail="it was changed while it was read")
    progress.stage(f"restoring the job in {pdf.name}")
    job, record, evidence, document_digest = _taken_out(content, pdf)
    about = ReportRecord(
        path=f"reports/{tame(pdf.stem)}.pdf",
        sha256=signed.sha256,
        size_bytes=len(content),
        written_at=evidence.written_at,
        signer=signed.name,
        signatures=signed.count,
        document_digest=document_digest,
        variant=evidence.variant,
    )
    folder = JobFolder(home.jobs / job.id)
    outcome: Outcome = "restored"
    if folder.path.exists():
        outcome = _beside_what_is_here(folder, job, record, pdf, content, about)
    else:
        now = datetime.now().astimezone().replace(microsecond=0)
        folder = restore(home, job, record, content, about, now)
    brought = put_back(folder, files)
    bring_up_to_date(home)
    return Restoration(
        file=str(pdf),
        job=job.id,
        title=job.title(),
        folder=folder.path,
        outcome=outcome,
        signer=signed.name,
        known=signed.known,
        brought=brought,
        elsewhere=tuple(media.name for media in elsewhere(folder, job)),
    )


@dataclass(frozen=True)
class _Signed:
    """sha256: of the report. name: common name on the technician's key. count: of signatures.
    known: this home knows who signed.
    """

    sha256: str
    name: str
    count: int
    known: bool


def _verified(home: Home, pdf: Path) -> _Signed:
    found = verify.check(home, pdf)
    if found.failed:
        raise VerificationFailed(path=pdf, detail=found.failed)
    technician = found.signatures[0].signer
    return _Signed(
        sha256=found.sha256,
        name=technician.name if technician else "",
        count=len(found.signatures),
        known=_STRANGERS.isdisjoint(doubt.reason for doubt in found.doubts),
    )


def _taken_out(content: bytes, pdf: Path) -> tuple[Job, bytes, Evidence, str]:
    """The job in a report, the bytes of its record, the manifest and its digest."""
    files = attached(content, pdf)
    lacking = [name for name in (RECORD, EVIDENCE) if name not in files]
    if lacking:
        raise CannotRestore(path=pdf, detail=f"no {lacking[0]} is attached to it")
    record = files[RECORD]
    try:
        evidence = parse_evidence(files[EVIDENCE])
    except ValueError as error:
        raise CannotRestore(path=pdf, detail=f"its {EVIDENCE} is not one of ours") from error
    try:
        job = job_in_report(record, evidence.job_id)
    except JobTooNew as error:
        raise JobTooNew(path=pdf, detail=error.data["detail"]) from error
    except BadJobFolder as error:
        raise CannotRestore(path=pdf, detail=error.data["detail"]) from error
    told = [(original.path, original.sha256) for original in evidence.originals]
    held = [(media.path, media.sha256) for media in job.media]
    if digest(record) != evidence.record.sha256 or told != held:
        raise CannotRestore(path=pdf, detail=f"its {RECORD} is not the one of its {EVIDENCE}")
    return job, record, evidence, digest(files[EVIDENCE])


def _beside_what_is_here(
    folder: JobFolder, job: Job, record: bytes, pdf: Path, content: bytes, about: ReportRecord
) -> Outcome:
    """Add the report to a job that is here and the same; nothing to do when it is here too."""
    here, _ = folder.read()
    if here != record:
        raise JobDiffers(path=pdf, job=job.id, detail=_difference(folder.load(), job))
    if about.sha256 in {known.sha256 for known in reports(folder)}:
        return "already here"
    keep_report(
        folder, pdf.stem, content, written_at=about.written_at, signer=about.signer,
        signatures=about.signatures, document_digest=about.document_digest, variant=about.variant,
    )  # fmt: skip
    return "report added"


def _difference(here: Job, there: Job) -> str:
    """'readings: 14 here, 12 in the report; notes'."""
    told = []
    for part in _PARTS:
        ours, theirs = getattr(here, part), getattr(there, part)
        if ours != theirs:
            counts = f": {len(ours)} here, {len(theirs)} in the report"
            told.append(part + (counts if len(ours) != len(theirs) else ""))
    return "; ".join(told) or "the same values in other bytes"


def _files(folder: Path) -> list[Path]:
    if not folder.exists():
        raise FileMissing(path=folder)
    if not folder.is_dir():
        raise InputRefused(path=folder, detail="it is a file; give the folder of the originals")
    return sorted(path for path in folder.rglob("*") if path.is_file())
