"""The index rebuilt from the job folders, or held against them."""

from __future__ import annotations

from recorder.archive.folder import job_folders
from recorder.archive.home import Home
from recorder.archive.index import Index, rebuild as rebuild_index
from recorder.errors import BadJobFolder
from recorder.flows.progress import Progress
from recorder.model.base import Value


class Looked(Value):
    """jobs: in the index. faults: one line each, with the path."""

    jobs: int
    faults: tuple[str, ...] = ()
