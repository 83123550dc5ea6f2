"""Which job does a person mean?"""

from __future__ import annotations

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs.folder import JobFolder, job_folders
from recorder.errors import AmbiguousJob, UnknownJob

IDS_SHOWN = 5


def find_job(home: Home, wanted: str) -> JobFolder:
    """By id, by the word 'last', by job number, or by the beginning of one id only.

    Raises UnknownJob, AmbiguousJob, and for a job number what opening the index raises.
    """
    folders = {folder.id: folder for folder in job_folders(home)}
    if wanted in folders:
        return folders[wanted]
    if wanted == "last" and folders:
        return folders[max(folders)]
    fits = [job_id for job_id in _by_number(home, wanted) if job_id in folders]
    if not fits and wanted:
        fits = [job_id for job_id in folders if job_id.startswith(wanted)]
    if not fits:
        raise UnknownJob(wanted=wanted)
    if len(fits) > 1:
        newest = sorted(fits, reverse=True)
        more = f" and {len(fits) - IDS_SHOWN} more" if len(fits) > IDS_SHOWN else ""
        raise AmbiguousJob(wanted=wanted, ids=", ".join(newest[:IDS_SHOWN]) + more)
    return folders[fits[0]]


def _by_number(home: Home, number: str) -> list[str]:
    with Index.open(home) as index:
        found = index.database.rows(
            "SELECT DISTINCT id FROM job_values JOIN jobs ON jobs.key = job"
            " WHERE field = 'job_number' AND word = ?",
            (number.encode("utf-8", "replace").decode().strip().casefold(),),
        )
    return [str(row[0]) for row in found]
