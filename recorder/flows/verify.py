"""A report to what can be said of it: by itself, and by what this home knows.

::

    PDF ─► bytes ─► signatures ─► what came in since ─► page, evidence, job   (report/verifying)
        ─► authorities of this home ─► its records of the job's reports ─► its originals
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.originals import sha256_of
from recorder.archive.jobs.proof import holds
from recorder.archive.jobs.reports import from_elsewhere, reports
from recorder.errors import BadJobFolder, InputRefused
from recorder.model.evidence import Evidence, OriginalDigest
from recorder.model.job import Removal
from recorder.model.report_record import ReportRecord
from recorder.report.identity import certificates
from recorder.report.verifying.facts import ArchiveFacts, Expected, Verification
from recorder.report.verifying.reasons import Doubt, Fault, Finding, counted
from recorder.report.verifying.signers import Known
from recorder.report.verifying.verify import verify, with_expected


def check(home: Home, path: Path, signatures: int | None = None) -> Verification:
    """Verify a report against all that this home knows.

    signatures: how many there should be; by default what the home's records of the job say.
    Raises FileMissing, FileEmpty, FileTooLarge or NotAReport when there is nothing to judge.
    """
    known = Known(
        signers=certificates.known_certificates(home.identity),
        stampers=certificates.known_certificates(home.identity / certificates.TIME_FOLDER),
    )
    found = verify(path, known)
    folder = _folder(home, found.manifest) if found.manifest else None
    records = _records(folder) if folder else ()
    if signatures is not None:
        found = with_expected(found, Expected(signatures, "the option --signatures"))
    elif number := _expected(records, found):
        found = with_expected(found, number)
    if folder and found.manifest:
        found = _against_archive(found, folder, found.manifest, records)
    return found


def unreadable(home: Home) -> tuple[str, ...]:
    """Names of the files among the home's certificates that hold none."""
    folders = (home.identity, home.identity / certificates.TIME_FOLDER)
    return tuple(bad.name for folder in folders for bad in certificates.unreadable(folder))


def _folder(home: Home, manifest: Evidence) -> JobFolder | None:
    """Of the job in this home; None where it is not here. The id is one name and not a path."""
    path = home.jobs / manifest.job_id
    held = Path(manifest.job_id).name == manifest.job_id and JobFolder(path).record.is_file()
    return JobFolder(path) if held else None


def _records(folder: JobFolder) -> tuple[ReportRecord, ...]:
    try:
        return reports(folder)
    except BadJobFolder:  # 'seamnote archive check' tells; the report can be judged without
        return ()


def _expected(records: tuple[ReportRecord, ...], found: Verification) -> Expected | None:
    """The most signatures that this home knows on a report with this very evidence."""
    same = [record for record in records if record.document_digest == found.evidence.digest]
    if not same:
        return None
    most = max(same, key=lambda record: record.signatures)
    return Expected(most.signatures, f"the record of {Path(most.path).name} in this home")


def _removals(folder: JobFolder) -> dict[tuple[str, str], Removal]:
    """By path and SHA-256, the originals that were taken out on request."""
    try:
        job = folder.load()
    except BadJobFolder:  # 'seamnote archive check' tells; the report can be judged without
        return {}
    return {(media.path, media.sha256): media.removed for media in job.media if media.removed}


def _told(removals: Iterable[Removal]) -> tuple[str, ...]:
    """'2 original files were removed on request at 2026-11-26 15:02:10+01:00 by Imke Dorn'."""
    return tuple(
        f"{counted(number, 'original file')} {'was' if number == 1 else 'were'} removed on request "
        f"at {at.isoformat(sep=' ', timespec='seconds')} by {by or 'nobody named'}: {reason}"
        for (at, by, reason), number in Counter((r.at, r.by, r.reason) for r in removals).items()
    )


def _against_archive(
    found: Verification,
    folder: JobFolder,
    manifest: Evidence,
    records: tuple[ReportRecord, ...],
) -> Verification:
    recorded = any(record.sha256 == found.sha256 for record in records)
    removals = _removals(folder)
    changed: list[str] = []
    missing: list[OriginalDigest] = []
    removed: list[OriginalDigest] = []
    for original in manifest.originals:
        try:
            path = folder.path_of(original.path)
            if sha256_of(path) != original.sha256:
                changed.append(original.name)
        except (InputRefused, BadJobFolder):
            known = (original.path, original.sha256) in removals
            (removed if known else missing).append(original)
    archive = ArchiveFacts(
        job=folder.id,
        recorded=recorded,
        originals=len(manifest.originals),
        changed=tuple(changed),
        missing=tuple(each.name for each in missing),
        removed=tuple(each.name for each in removed),
        removals=_told(removals[each.path, each.sha256] for each in removed),
    )
    faults, doubts = found.faults, found.doubts
    if changed:
        faults = (*faults, Finding.of(Fault.ORIGINAL_DIFFERS, ", ".join(changed)))
    if not recorded and not faults:
        doubts = (*doubts, Finding.of(Doubt.NOT_IN_ARCHIVE))
    if recorded and not faults and not _led_here(folder, manifest, found.evidence.digest):
        doubts = (*doubts, Finding.of(Doubt.EVENTS_DIFFER, f"job {folder.id}"))
    return replace(found, archive=archive, faults=faults, doubts=doubts)


def _led_here(folder: JobFolder, manifest: Evidence, digest: str) -> bool:
    """Whether the events of the job here are those after which the report was written; what was
    written elsewhere came after others.
    """
    try:
        return (
            manifest.events is None
            or holds(folder.path, manifest.events)
            or digest in from_elsewhere(folder)
        )
    except BadJobFolder:  # 'seamnote archive check' tells
        return True
