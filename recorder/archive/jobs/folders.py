"""The job folders of a home."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Sequence
from pathlib import Path

from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs import names, originals
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import BadJobFolder, HomeUnusable
from recorder.model.job import Job


def job_ids(home: Home) -> list[str]:
    """The names of all job folders, oldest first, of damaged ones too. Raises HomeUnusable."""
    try:
        with os.scandir(home.jobs) as entries:
            return sorted(each.name for each in entries if each.name[0] != "." and each.is_dir())
    except OSError as error:
        raise HomeUnusable(path=home.root, detail=cause(error)) from error


def job_folders(home: Home) -> list[JobFolder]:
    """All of them, oldest first, damaged ones too. Raises HomeUnusable."""
    return [JobFolder(home.jobs / job_id) for job_id in job_ids(home)]


def find_by_originals(home: Home, files: Sequence[Path]) -> Job | None:
    """The newest job that was made of exactly these files, whatever they are called now.

    Raises FileMissing, InputRefused, HomeUnusable.
    """
    wanted = {originals.sha256_of(file) for file in files}
    mark = names.mark(wanted)
    for folder in reversed(job_folders(home)):
        if names.mark_in(folder.id) != mark:
            continue
        with contextlib.suppress(BadJobFolder):
            job = folder.load()
            if {media.sha256 for media in job.media} == wanted:
                return job
    return None
