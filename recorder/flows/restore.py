"""A signed report to the job that it was made of: what is attached to the PDF is enough.

::

    report ─► verify ─► attachments ─┬─► job folder, with the report in it ─► originals, if given
                                     └─► merged into the job that is here, the report beside it

A job that is here is changed by a signer whom this home knows, or when the caller says so.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.jobs import restored
from recorder.archive.jobs.originals import tame
from recorder.archive.jobs.reports import reports, take_in
from recorder.archive.jobs.restored import job_in_report
from recorder.archive.sharing.elsewhere import Elsewhere
from recorder.archive.sharing.merge import Merged, State
from recorder.archive.sharing.taking import Here, Taken, merge_into
from recorder.errors import (
    BadJobFolder,
    CannotImport,
    CannotRestore,
    FileMissing,
    InputRefused,
    JobTooNew,
    VerificationFailed,
)
from recorder.flows import verify
from recorder.flows.imported import Imported, imported
from recorder.flows.progress import Progress
from recorder.model.evidence import FILE_NAME as EVIDENCE
from recorder.model.evidence import Evidence, digest
from recorder.model.evidence import parse as parse_evidence
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.job import Job
from recorder.model.report_record import ReportRecord
from recorder.report.document.attachments import attached
from recorder.report.verifying.reasons import Doubt

_STRANGERS = {Doubt.SIGNER_UNKNOWN, Doubt.NAMESAKE}


def import_report(
    home: Home, pdf: Path, originals: Sequence[Path], from_unknown: bool, progress: Progress
) -> Imported:
    """Take one report into the home, but not yet into its index.

    originals: files that may be those of the job. from_unknown: whether it may change a job that
    is here though this home does not know who signed it.
    Raises VerificationFailed for a report that is not as it was signed, CannotRestore for one
    that holds no usable job, CannotImport for one that may not change the job that is here, and
    what reading and writing raise.
    """
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
    folder = Here(home).folder_of(job)
    if folder is None:
        now = datetime.now().astimezone().replace(microsecond=0)
        taken = Taken(restored.restore(home, job, record, content, about, now))
    else:
        there = Elsewhere(job, record, b"", {}, State(job, written_at=evidence.written_at))
        accept = _refuse_stranger(pdf, job, signed, from_unknown)
        merged, noted = merge_into(folder, there, pdf, accept, report=signed.sha256)
        new = about.sha256 not in {known.sha256 for known in reports(folder)}
        if new and restored.restored_from(folder) is None:
            accept(merged)  # beside reports of ours it would stand as if it were one
        if new:
            take_in(folder, content, about, arrived=True)
        taken = Taken(folder, merged, noted, int(new))
    brought = restored.put_back(taken.folder, originals)
    return imported(pdf, job, taken, brought=brought, signer=signed.name, known=signed.known)


def loose_files(folder: Path) -> list[Path]:
    """The files in a folder of originals, and in those below. Raises FileMissing, InputRefused."""
    if not folder.exists():
        raise FileMissing(path=folder)
    if not folder.is_dir():
        raise InputRefused(path=folder, detail="it is a file; give the folder of the originals")
    return sorted(path for path in folder.rglob("*") if path.is_file())


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


def _refuse_stranger(
    pdf: Path, job: Job, signed: _Signed, from_unknown: bool
) -> Callable[[Merged], None]:
    """Whoever can sign could else change what this home holds, with a value typed yesterday."""

    def accept(merged: Merged) -> None:
        if not (signed.known or from_unknown):
            raise CannotImport(
                path=pdf, job=job.id,
                detail=f"it would change the job that is here, and {signed.name} who signed it is "
                "not known to this home",
                mend="nothing was changed; know its firm with 'seamnote identity trust FILE', or "
                "say --from-unknown",
            )  # fmt: skip

    return accept
