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
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.names import LONGEST_ID, mark_in
from recorder.archive.jobs.originals import sha256_of
from recorder.archive.jobs.proof import holds
from recorder.archive.jobs.record import parse
from recorder.archive.jobs.reports import from_elsewhere, reports
from recorder.errors import BadJobFolder, HomeUnusable, InputRefused, NotAReport
from recorder.model.evidence import Evidence, OriginalDigest
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.job import Job, MediaFile, Removal
from recorder.model.plural import counted
from recorder.model.reading import Reading
from recorder.model.recording import Recording
from recorder.model.report_record import ReportRecord
from recorder.report.document.attachments import attached
from recorder.report.identity import certificates
from recorder.report.verifying.facts import ArchiveFacts, Expected, Verification
from recorder.report.verifying.reasons import Doubt, Fault, Finding
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
    folder = _folder(home, found) if found.manifest else None
    records = _records(folder) if folder else ()
    if signatures is not None:
        found = with_expected(found, Expected(signatures, "the option --signatures"))
    elif number := _expected(records, found):
        found = with_expected(found, number)
    if folder and found.manifest:
        found = _against_archive(found, path, folder, found.manifest, records)
    return found


def unreadable(home: Home) -> tuple[str, ...]:
    """Names of the files among the home's certificates that hold none."""
    folders = (home.identity, home.identity / certificates.TIME_FOLDER)
    return tuple(bad.name for folder in folders for bad in certificates.unreadable(folder))


def _folder(home: Home, found: Verification) -> JobFolder | None:
    """Of the job in this home, also where that has another id: then a report with this evidence is
    on record there. None where it is not here.
    """
    job_id = found.manifest.job_id if found.manifest else ""
    if Path(job_id).name != job_id or len(job_id) > LONGEST_ID:  # one name and not a path
        return None
    if JobFolder(home.jobs / job_id).record.is_file():
        return JobFolder(home.jobs / job_id)
    of_same_files = (folder for folder in _folders(home) if mark_in(folder.id) == mark_in(job_id))
    return next((folder for folder in of_same_files if _same(_records(folder), found)), None)


def _folders(home: Home) -> list[JobFolder]:
    try:
        return job_folders(home)
    except HomeUnusable:  # as at a customer's
        return []


def _records(folder: JobFolder) -> tuple[ReportRecord, ...]:
    try:
        return reports(folder)
    except BadJobFolder:  # 'seamnote archive check' tells; the report can be judged without
        return ()


def _same(records: Iterable[ReportRecord], found: Verification) -> list[ReportRecord]:
    return [record for record in records if record.document_digest == found.evidence.digest]


def _expected(records: tuple[ReportRecord, ...], found: Verification) -> Expected | None:
    """The most signatures that this home knows on a report with this very evidence."""
    same = _same(records, found)
    if not same:
        return None
    most = max(same, key=lambda record: record.signatures)
    return Expected(most.signatures, f"the record of {Path(most.path).name} in this home")


def _job(folder: JobFolder) -> Job | None:
    try:
        return folder.load()
    except BadJobFolder:  # 'seamnote archive check' tells; the report can be judged without
        return None


def _told(removals: Iterable[Removal]) -> tuple[str, ...]:
    """'2 original files were removed on request at 2026-11-26 15:02:10+01:00 by Imke Dorn'."""
    return tuple(
        f"{counted(number, 'original file')} {'was' if number == 1 else 'were'} removed on request "
        f"at {at.isoformat(sep=' ', timespec='seconds')} by {by or 'nobody named'}: {reason}"
        for (at, by, reason), number in Counter((r.at, r.by, r.reason) for r in removals).items()
    )


def _against_archive(
    found: Verification,
    path: Path,
    folder: JobFolder,
    manifest: Evidence,
    records: tuple[ReportRecord, ...],
) -> Verification:
    recorded = any(record.sha256 == found.sha256 for record in records)
    job = _job(folder)
    changed: list[str] = []
    missing: list[OriginalDigest] = []
    removed: list[tuple[OriginalDigest, Removal]] = []
    for original in manifest.originals:
        kept = _kept(job, original)
        try:
            if sha256_of(folder.path_of(kept.path if kept else original.path)) != original.sha256:
                changed.append(original.name)
        except (InputRefused, BadJobFolder):
            if kept and kept.removed:
                removed.append((original, kept.removed))
            else:
                missing.append(original)
    archive = ArchiveFacts(
        job=folder.id,
        recorded=recorded,
        originals=len(manifest.originals),
        changed=tuple(changed),
        missing=tuple(each.name for each in missing),
        removed=tuple(each.name for each, _ in removed),
        removals=_told(removal for _, removal in removed),
    )
    faults, doubts = found.faults, found.doubts
    if changed:
        faults = (*faults, Finding.of(Fault.ORIGINAL_DIFFERS, ", ".join(changed)))
    if not recorded and not faults:
        doubts = (*doubts, Finding.of(Doubt.NOT_IN_ARCHIVE))
    if recorded and not faults:
        led_here = _led_here(folder, manifest, found.evidence.digest)
        if not (led_here and _still_holds(job, manifest, path)):
            doubts = (*doubts, Finding.of(Doubt.EVENTS_DIFFER, f"job {folder.id}"))
    return replace(found, archive=archive, faults=faults, doubts=doubts)


def _kept(job: Job | None, original: OriginalDigest) -> MediaFile | None:
    """The original as the record here has it; another device may have given it another place."""
    same = [media for media in job.media if media.sha256 == original.sha256] if job else []
    return next((media for media in same if media.path == original.path), same[0] if same else None)


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


def _still_holds(job: Job | None, manifest: Evidence, path: Path) -> bool:
    """Whether every reading and every stretch of sound that the report rests on stands in the
    record here, which only grows. A merge may have given their files other names.
    """
    if job is None:
        return True
    try:
        record = attached(path.read_bytes(), path)[RECORD]
        signed = parse(record, Path(manifest.job_id))
    except (OSError, KeyError, NotAReport, BadJobFolder):
        return True
    lost = Counter(map(_text, signed.readings)) - Counter(map(_text, job.readings))
    heard = {_stretch(recording) for recording in job.recordings}
    return not lost and heard.issuperset(map(_stretch, signed.recordings))


def _stretch(recording: Recording) -> str:
    return recording.model_dump_json(exclude={"file"})


def _text(reading: Reading) -> str:
    return reading.model_dump_json(exclude={"evidence": {"file"}})
