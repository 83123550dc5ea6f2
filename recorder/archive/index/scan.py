"""Which job folders there are, and whether their records changed: one look at each."""

from __future__ import annotations

import os

from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs.folder import stamp_of
from recorder.errors import HomeUnusable
from recorder.model.job import FILE_NAME


def ids(home: Home) -> list[str]:
    """The names of all job folders, oldest first, of damaged ones too. Raises HomeUnusable."""
    try:
        with os.scandir(home.jobs) as entries:
            return sorted(each.name for each in entries if each.name[0] != "." and each.is_dir())
    except OSError as error:
        raise HomeUnusable(path=home.root, detail=cause(error)) from error


def stamps(home: Home) -> dict[str, str | None]:
    """The stamp of the record in each job folder, oldest first; None where it cannot be seen.

    Raises HomeUnusable.
    """
    root = f"{home.jobs}{os.sep}"
    return {job_id: _stamp(f"{root}{job_id}{os.sep}{FILE_NAME}") for job_id in ids(home)}


def _stamp(path: str) -> str | None:
    try:
        return stamp_of(os.stat(path))  # noqa: PTH116  a Path for each of 100,000 takes a second
    except OSError:
        return None
