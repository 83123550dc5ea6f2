"""A job that came from elsewhere: its record is whole, its original files may not be here.

``restored.json`` in its folder says so, and from which report, so that files which were never
here are not taken for lost ones.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path, PurePosixPath

from pydantic import JsonValue, ValidationError

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs import reports
from recorder.archive.jobs.arriving import arriving, fill
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.media import SUMS
from recorder.archive.jobs.record import parse
from recorder.errors import BadJobFolder, OriginalsElsewhere
from recorder.model.base import Value
from recorder.model.event import What
from recorder.model.job import Job, MediaFile
from recorder.model.report_record import ReportRecord

_LONGEST_PATH_BYTES = 255  # what a file system takes for one name; ours are shorter
# What JobFolder makes, and no name that a file system or a command line takes for another thing.
_ID = re.compile(r"[0-9]{8}-[0-9A-Za-z-]{1,71}")
_DIGEST = re.compile(r"[0-9a-f]{64}")


class Restored(Value):
    """report: path of the PDF in the folder; empty where the job came as a folder or in a package.
    sha256: of that PDF, else of the job.json that came. at: when, with zone.
    """

    report: str
    sha256: str
    at: datetime


def job_in_report(record: bytes, job_id: str) -> Job:
    """The job in the job.json of a report. Raises as ``job_of_stranger``."""
    job = job_of_stranger(record, job_id)
    if not job.complete:
        raise BadJobFolder(path=Path(job_id), detail="it was not finished")
    return job


def job_of_stranger(record: bytes, job_id: str) -> Job:
    """The job in a job.json that may come from anybody.

    Raises BadJobFolder (or its child JobTooNew) for one that no program of ours would have put
    there: above all with an id or a path that leads out of the folder of the job.
    """
    path = Path(job_id[:80])
    if not _ID.fullmatch(job_id):
        raise BadJobFolder(path=path, detail=f"{job_id[:80]!r} cannot be the id of a job")
    job = parse(record, path)
    if not 1 < job.created_at.year < 9999:  # the ends of the calendar have no time in every zone
        raise BadJobFolder(path=path, detail=f"it was made in the year {job.created_at.year}")
    if not all(_DIGEST.fullmatch(media.sha256) for media in job.media):
        raise BadJobFolder(path=path, detail="a SHA-256 in it is none")
    wrong = next((place for place in _places(job) if not _is_inside(*place)), None)
    if wrong:
        raise BadJobFolder(path=path, detail=f"{wrong[0][:80]!r} is no place in a job folder")
    return job


def restore(home: Home, job: Job, record: bytes, pdf: bytes, about: ReportRecord, at: datetime
) -> JobFolder:  # fmt: skip
    """Make the folder of a job that this home does not hold, with the report it came from.

    record: content of job.json. about: of the PDF. The folder appears whole or not at all.
    Raises HomeUnusable.
    """
    with arriving(home) as staging:
        folder = JobFolder(staging)
        kept = reports.place(folder, pdf, about)
        mark = Restored(report=kept.path, sha256=kept.sha256, at=at)
        atomic.write(folder.restored_mark, mark.model_dump_json(indent=2).encode() + b"\n")
        data: dict[str, JsonValue] = {"job": job.id, "report": kept.path, "sha256": kept.sha256}
        fill(staging, record, [(What.RESTORED, data)], at)
        target = staging.rename(home.jobs / job.id)
        atomic.sync_folder(home.jobs)
    return JobFolder(target)


def restored_from(folder: JobFolder) -> Restored | None:
    """Where a job came from; None for one that was made in this home. Raises BadJobFolder."""
    path = folder.restored_mark
    try:
        return Restored.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        return None
    except (OSError, ValidationError) as error:
        detail = cause(error) if isinstance(error, OSError) else "it is damaged"
        raise BadJobFolder(path=folder.path, detail=f"{path.name}: {detail}") from error


def elsewhere(folder: JobFolder, job: Job) -> tuple[MediaFile, ...]:
    """The originals of a restored job that were never here. Raises BadJobFolder."""
    if restored_from(folder) is None:
        return ()
    return tuple(
        media
        for media in job.media
        if not media.removed and not folder.path_of(media.path).exists()
    )


def need_originals(folder: JobFolder, job: Job) -> None:
    """Raises OriginalsElsewhere for a restored job that lacks any. Raises BadJobFolder."""
    mark, lacking = restored_from(folder), elsewhere(folder, job)
    if mark and lacking:
        report = folder.path / mark.report
        raise OriginalsElsewhere(job=job.id, count=len(lacking), report=report)


def put_back(folder: JobFolder, files: Iterable[Path]) -> tuple[str, ...]:
    """Take in those of ``files`` that are missing originals, byte for byte; the originals' names.

    Raises BadJobFolder, InputRefused, Busy, OutputUnwritable.
    """
    found: list[str] = []
    with lock.held(folder.path):
        lacking = list(elsewhere(folder, folder.load()))
        for file in files:
            for media in [m for m in lacking if m.size_bytes == _size_bytes(file)]:
                if folder.media.put_back(file, media):
                    lacking.remove(media)
                    found.append(media.name)
    return tuple(found)


def _size_bytes(file: Path) -> int | None:
    try:
        return file.stat().st_size
    except OSError:
        return None


def _places(job: Job) -> list[tuple[str, str]]:
    """Every path in the record, with the folder in which it must lie."""
    shown = [path for seam in job.measurements for path in (seam.overlay, seam.plot) if path]
    return [*((media.path, "media") for media in job.media), *((path, "derived") for path in shown)]


def _is_inside(path: str, folder: str) -> bool:
    """Whether a path has the form in which this program writes it, on every system."""
    parts = PurePosixPath(path).parts
    deep_enough = len(parts) == 2 if folder == "media" else len(parts) > 1
    plain = path == "/".join(parts) and path.isprintable() and not set("\\:") & set(path)
    if not (deep_enough and plain and parts[0] == folder) or path == f"{folder}/{SUMS}":
        return False
    # Names on a dot are those of this program's own, as of a copy that has not arrived.
    return len(path.encode()) <= _LONGEST_PATH_BYTES and not any(p.startswith(".") for p in parts)
