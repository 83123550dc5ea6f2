"""How it stands with the report of a job: none, as the job is, or from before it was changed."""

from __future__ import annotations

from pydantic import AwareDatetime

from recorder.archive.jobs import events
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import reports
from recorder.model.base import Value
from recorder.model.event import What
from recorder.model.report_record import ReportRecord


class Report(Value):
    """The newest one. outdated: the job was changed since. approved: the customer signed it."""

    path: str
    sha256: str
    written_at: AwareDatetime
    signer: str
    approved: bool
    outdated: bool


def newest_report(folder: JobFolder) -> Report | None:
    """Raises BadJobFolder."""
    known = reports(folder)
    return _report(folder, known[-1]) if known else None


def _report(folder: JobFolder, record: ReportRecord) -> Report:
    return Report(
        path=record.path,
        sha256=record.sha256,
        written_at=record.written_at.astimezone(),
        signer=record.signer,
        approved=record.signatures > 1,
        outdated=_changed_since(folder, record),
    )


def _changed_since(folder: JobFolder, record: ReportRecord) -> bool:
    """Whether anything happened after the first report with this evidence that was no report."""
    after = False
    for event in events.read(folder.events).events:
        told = event.data.get("report")
        if event.what is not What.REPORTED:
            if after:
                return True
        elif isinstance(told, dict) and told.get("document_digest") == record.document_digest:
            after = True
    return False
