"""A job to its signed report: evidence, page, document, signature, archive."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Literal

from recorder import __version__
from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import parse
from recorder.archive.jobs.reports import keep_report
from recorder.archive.jobs.restored import need_originals
from recorder.errors import JobUnfinished, OriginalChanged
from recorder.flows import evidence
from recorder.flows.looking import harmless, looking
from recorder.flows.progress import Progress
from recorder.flows.stamping import Stamping
from recorder.model import evidence as manifest
from recorder.model.base import Value
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.job import Job, in_force
from recorder.model.report_record import ReportRecord, Variant
from recorder.report.content.edition import Edition
from recorder.report.content.text import clean
from recorder.report.document.about import CUSTOMER, TECHNICIAN, About, Attachment
from recorder.report.document.assemble import assemble
from recorder.report.identity.identity import Identity
from recorder.report.page import look
from recorder.report.page.render import render
from recorder.report.signing.certify import certify
from recorder.report.wording.wording import language_tag, say, writing
from recorder.settings import Settings

LONGEST_TOLD = 200  # characters


class Written(Value):
    """path: of the signed PDF. record: what is kept of it. unstamped: why a wanted time stamp is
    missing, in one line; else empty.
    """

    path: Path
    record: ReportRecord
    unstamped: str


def write(
    home: Home,
    folder: JobFolder,
    settings: Settings,
    key: Identity,
    progress: Progress,
    variant: Variant = "full",
    paper: Literal["A4", "Letter"] | None = None,
    drawing: bytes = b"",
) -> Written:
    """Render, certify and keep the report of a job.

    paper: other than the settings say. drawing: PNG, JPEG or WebP of what the technician drew by
    hand, which the field of the signature will show; empty for none.
    Raises JobUnfinished, OriginalChanged, RecordChanged, NotADrawing, and what rendering and
    signing raise.
    """
    picture = looking.drawing(drawing) if drawing else b""
    now = datetime.now().astimezone().replace(microsecond=0)
    record, events = folder.proven()
    job = parse(record, folder.path)
    _require_whole(folder, job)
    progress.stage("setting the report")
    gathered = evidence.gather(job, record, events, now, variant)
    proof = manifest.dump(gathered)
    overrides = home.root / look.FOLDER
    edition = Edition(
        now=now,
        draft=False,
        signer=key.common_name,
        digest=manifest.digest(proof),
        software=gathered.software,
        variant=variant,
        drawn=bool(picture),
        paper=paper or settings.report.paper,
        overrides=overrides,
    )
    with writing(settings.report.language, look.read(overrides).folders):
        with harmless.pictures(job, folder) as media:
            page = render(job, media, settings.report, edition)
        document = assemble(
            page,
            _attachments(record, proof),
            _about(job, settings.report.firm or key.common_name, now),
        )
        progress.stage("signing the report")
        stamping = Stamping(settings.report)
        signed = certify(
            document, key, say("Record of the splice job"), _told(job, "site"), now,
            stamping.stamp, picture,
        )  # fmt: skip
    kept = keep_report(
        folder, _stem(job, now), signed, written_at=now, signer=key.common_name, signatures=1,
        document_digest=edition.digest, variant=variant,
    )  # fmt: skip
    return Written(path=folder.path_of(kept.path), record=kept, unstamped=stamping.missed)


def _require_whole(folder: JobFolder, job: Job) -> None:
    if not job.complete:
        raise JobUnfinished(job=job.id)
    need_originals(folder, job)
    changed = folder.changed_originals(job)
    if changed:
        raise OriginalChanged(path=changed[0])


def _attachments(record: bytes, proof: bytes) -> tuple[Attachment, Attachment]:
    kind = "application/json"
    return (
        Attachment(RECORD, record, kind, "Source", say("The record that the pages show")),
        Attachment(
            manifest.FILE_NAME, proof, kind, "Data",
            say("SHA-256 of the record and of every original file"),
        ),
    )  # fmt: skip


def _about(job: Job, author: str, now: datetime) -> About:
    number = _told(job, "job_number") or job.id
    customer = _told(job, "customer")
    return About(
        title=say("Splice report {number}, {customer}", number=number, customer=customer)
        if customer
        else say("Splice report {number}", number=number),
        author=clean(author),
        subject=say("Record of the splice job"),
        language=language_tag(),
        written_at=now,
        creator=f"Seamnote {__version__}",
        labels={
            TECHNICIAN: say("Signature of the technician"),
            CUSTOMER: say("Signature of the customer"),
        },
    )


def _told(job: Job, field: str) -> str:
    """For metadata, where nobody reads on without end; the page shows all of it."""
    reading = in_force(job.readings).get(field)
    text = clean(str(reading.value)) if reading else ""
    return text if len(text) <= LONGEST_TOLD else f"{text[:LONGEST_TOLD]}…"


def _stem(job: Job, now: datetime) -> str:
    stem = re.sub(r"[^A-Za-z0-9-]+", "-", _told(job, "job_number")).strip("-")
    return f"{stem[:40] or job.id}_{now:%Y%m%d-%H%M%S}"
