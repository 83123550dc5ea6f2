"""Which job an address means: one that exists, or none. Nothing of an address reaches the disk
before it has the form of an id, which holds no dot and no slash.
"""

from __future__ import annotations

import re

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.errors import UnknownJob

_ID = re.compile(r"[0-9a-z-]{1,80}")  # 80: names.LONGEST_ID
_SHOWN = 40  # characters of what nobody can mean


def known_job(home: Home, job_id: str) -> JobFolder:
    """Raises UnknownJob."""
    folder = JobFolder(home.jobs / job_id) if _ID.fullmatch(job_id) else None
    if folder is None or folder.path.is_symlink() or not folder.record.is_file():
        raise UnknownJob(wanted=job_id[:_SHOWN])
    return folder
