"""Whether the records of the job folders changed: one look at each."""

from __future__ import annotations

import os

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folders import job_ids
from recorder.archive.jobs.record import stamp_of
from recorder.model.job import FILE_NAME


def stamps(home: Home) -> dict[str, str | None]:
    """The stamp of the record in each job folder, oldest first; None where it cannot be seen.

    Raises HomeUnusable.
    """
    root = f"{home.jobs}{os.sep}"
    return {job_id: _stamp(f"{root}{job_id}{os.sep}{FILE_NAME}") for job_id in job_ids(home)}


def _stamp(path: str) -> str | None:
    try:
        return stamp_of(os.stat(path))  # noqa: PTH116  a Path for each of 100,000 takes a second
    except OSError:
        return None
