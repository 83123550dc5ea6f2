"""Which job does a person mean?"""

from __future__ import annotations

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_ids
from recorder.errors import AmbiguousJob, UnknownJob

IDS_SHOWN = 5


def find_job(home: Home, wanted: str) -> JobFolder:
    """By id, by the word 'last', by job number, or by the beginning of one id only.

    Raises UnknownJob, AmbiguousJob, and for a job number what opening the index raises.
    """
    ids = job_ids(home)
    if wanted in ids:
        return JobFolder(home.jobs / wanted)
    if wanted == "last" and ids:
        return JobFolder(home.jobs / max(ids))
    fits = [job_id for job_id in _by_number(home, wanted) if job_id in ids]
    if not fits and wanted:
        fits = [job_id for job_id in ids if job_id.startswith(wanted)]
    if not fits:
        raise UnknownJob(wanted=wanted)
    if len(fits) > 1:
        newest = sorted(fits, reverse=True)
        more = f" and {len(fits) - IDS_SHOWN} more" if len(fits) > IDS_SHOWN else ""
        raise AmbiguousJob(wanted=wanted, ids=", ".join(newest[:IDS_SHOWN]) + more)
    return JobFolder(home.jobs / fits[0])


def _by_number(home: Home, number: str) -> list[str]:
    # Here, since it takes a quarter of a second and is rarely needed.
    from recorder.archive.index.index import Index

    with Index.open(home) as index:
        return index.numbered(number)
