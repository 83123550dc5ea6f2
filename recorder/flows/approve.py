"""A certified report to the one that the customer approved, as a new file beside it.

::

    report ─► verify ─► drawing and name in the customer's field ─► signature ─► archive, or beside
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home
from recorder.archive.finding.lookup import find_job
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import keep_report, reports
from recorder.archive.jobs.restored import job_in_report
from recorder.errors import CannotApprove, VerificationFailed
from recorder.flows import verify
from recorder.flows.looking import looking
from recorder.flows.progress import Progress
from recorder.flows.stamping import Stamping
from recorder.inputs import read_whole
from recorder.model.base import Value
from recorder.model.evidence import digest
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.job import Job
from recorder.model.report_record import ReportRecord
from recorder.report.document.attachments import attached
from recorder.report.identity.identity import Identity
from recorder.report.page import look
from recorder.report.signing import approve as signing
from recorder.report.signing.drawing import LARGEST_BYTES
from recorder.report.verifying.facts import Fault, Verification
from recorder.report.wording.wording import writing
from recorder.settings import Settings

SUFFIX = "-approved"
_AGAIN = "write the report anew with 'seamnote report' and have that approved"


@dataclass(frozen=True)
class Certified:
    """A report that may be approved. path, content: of the PDF. found: what verify says of it.
    job: that it is about. folder, record: of job and report where this home holds them.
    """

    path: Path
    content: bytes
    found: Verification
    job: Job
    folder: JobFolder | None
    record: ReportRecord | None

    @property
    def outdated(self) -> bool:
        """Whether the job in this home was changed since the report was written."""
        if self.folder is None or self.found.manifest is None:
            return False
        return digest(self.folder.read()[0]) != self.found.manifest.record.sha256


class Approved(Value):
    """path: of the approved report. sha256: of it. kept: its record lies beside it in this home.
    unstamped: why a wanted time stamp is missing, in one line; else empty.
    """

    path: Path
    sha256: str
    kept: bool
    unstamped: str


def find(home: Home, wanted: str) -> Certified:
    """The report that ``wanted`` names: a PDF, or a job, of which the newest report is meant.

    Raises CannotApprove, VerificationFailed for one that is not as it was signed, UnknownJob, and
    FileMissing, FileEmpty, FileTooLarge or NotAReport.
    """
    path = Path(wanted)
    if path.suffix.lower() != ".pdf" and not path.is_file():
        path = _newest(find_job(home, wanted))
    found = verify.check(home, path)
    content = path.read_bytes()
    _require_approvable(path, found)
    if hashlib.sha256(content).hexdigest() != found.sha256:
        raise VerificationFailed(path=path, detail="it was changed while it was read")
    if not found.archive.job:
        return Certified(path, content, found, _attached_job(path, content, found), None, None)
    folder = JobFolder(home.jobs / found.archive.job)
    record = next((each for each in reports(folder) if each.sha256 == found.sha256), None)
    return Certified(path, content, found, folder.load(), folder, record)


def write(
    home: Home,
    report: Certified,
    drawing: Path,
    name: str,
    settings: Settings,
    key: Identity,
    progress: Progress,
) -> Approved:
    """Put the customer's drawing into a report, witnessed by the technician whose key it is.

    Raises CannotApprove, NotADrawing, BadValue for the name, FileMissing, FileTooLarge,
    OutputUnwritable, and what signing raises.
    """
    _require_same_authority(report, key)
    with lock.held(_original(report)):  # what is sent twice at once is signed once
        _require_unsigned(report)
        progress.stage("signing the approval")
        now = datetime.now().astimezone().replace(microsecond=0)
        overrides = home.root / look.FOLDER
        stamping = Stamping(settings.report)
        with writing(settings.report.language, look.read(overrides).folders):
            signed = signing.approve(
                report.content,
                key,
                looking.drawing(read_whole(drawing, LARGEST_BYTES)),
                name,
                now,
                stamping.stamp,
                overrides,
            )
        path = _keep(report, signed, now, key)
        return Approved(
            path=path,
            sha256=hashlib.sha256(signed).hexdigest(),
            kept=report.record is not None,
            unstamped=stamping.missed,
        )


def _attached_job(path: Path, content: bytes, found: Verification) -> Job:
    record = attached(content, path).get(RECORD)
    if record is None or found.manifest is None:
        raise CannotApprove(
            path=path, detail="no job is attached to it", mend="write it with 'seamnote report'"
        )
    return job_in_report(record, found.manifest.job_id)


def _newest(folder: JobFolder) -> Path:
    known = reports(folder)
    if not known:
        mend = f"write it with 'seamnote report {folder.id}'"
        raise CannotApprove(path=folder.path, detail="the job has no report yet", mend=mend)
    return folder.path_of(known[-1].path)


def _require_approvable(path: Path, found: Verification) -> None:
    faults = {fault.reason for fault in found.faults}
    if Fault.UNSIGNED in faults:
        detail, mend = "it is a draft or was not signed", "sign it first with 'seamnote report'"
    elif found.customer_signed or faults == {Fault.NUMBER_OF_SIGNATURES}:
        raise _signed_already(path)
    elif found.faults:
        raise VerificationFailed(path=path, detail=found.failed)
    elif not found.known:
        detail = "this home does not know who signed it"
        mend = "have it approved on the machine of the technician who signed it"
    elif _beside(path).exists():
        raise _there_already(path)
    else:
        return
    raise CannotApprove(path=path, detail=detail, mend=mend)


def _original(report: Certified) -> Path:
    """The file in the archive, of which the one that was given may be a copy."""
    if report.folder is None or report.record is None:
        return report.path
    return report.folder.path_of(report.record.path)


def _require_unsigned(report: Certified) -> None:
    """Nobody was quicker since it was looked at."""
    if report.folder is None or report.record is None:
        if _beside(report.path).exists():  # nothing signed is replaced
            raise _there_already(report.path)
        return
    document = report.record.document_digest
    for each in reports(report.folder):
        if each.signatures > 1 and each.document_digest == document:
            raise _signed_already(report.path)


def _signed_already(path: Path) -> CannotApprove:
    detail = "the customer has signed it already"
    return CannotApprove(path=path, detail=detail, mend=_AGAIN)


def _require_same_authority(report: Certified, key: Identity) -> None:
    """A witness of another firm would make a report that no verification accepts."""
    first = report.found.signatures[0].signer
    authority = hashlib.sha256(key.chain[-1]).hexdigest()
    if first is None or first.authority_fingerprint != authority:
        raise CannotApprove(
            path=report.path,
            detail=f"it was certified by {report.found.signer}, whom another authority vouches for",
            mend="write it anew with 'seamnote report', or approve it on that technician's machine",
        )


def _there_already(path: Path) -> CannotApprove:
    detail = f"{_beside(path).name} is there already"
    return CannotApprove(path=path, detail=detail, mend=_AGAIN)


def _beside(path: Path) -> Path:
    return path.with_name(f"{path.stem}{SUFFIX}.pdf")


def _keep(report: Certified, signed: bytes, now: datetime, key: Identity) -> Path:
    if report.folder is None or report.record is None:
        path = _beside(report.path)
        atomic.write(path, signed)
        return path
    before = report.record
    kept = keep_report(
        report.folder, Path(before.path).stem + SUFFIX, signed, written_at=now,
        signer=key.common_name, signatures=2, document_digest=before.document_digest,
        variant=before.variant,
    )  # fmt: skip
    return report.folder.path_of(kept.path)
