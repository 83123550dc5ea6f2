"""The index made anew from the job folders, or held against them."""

from __future__ import annotations

import contextlib
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs import reports, restored
from recorder.archive.jobs.folder import job_folders
from recorder.errors import BadJobFolder
from recorder.flows.progress import Progress
from recorder.model.base import Value


class Looked(Value):
    """jobs: in the index. faults: one line for each job folder that cannot be read, and for each
    file that is not as it was recorded. remarks: one line for each restored job whose originals
    were never here, which is no fault.
    """

    jobs: int
    faults: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def rebuild(home: Home, progress: Progress) -> Looked:
    """Make the index anew from the folders alone. Raises HomeUnusable, Busy."""
    progress.stage("making the index anew from the job folders")
    report = Index.rebuild(home, lambda done, every: progress.share(done / every))
    return Looked(jobs=report.count, faults=_lines(report.damaged))


def check(home: Home, progress: Progress) -> Looked:
    """Read every page of the index, every original file and every report. Raises IndexDamaged."""
    progress.stage("checking the index against the job folders")
    with Index.open(home) as index:
        index.check()
        jobs, faults = index.count(), list(_lines(index.damaged))
    progress.stage("checking original files and reports against their SHA-256")
    remarks: list[str] = []
    folders = job_folders(home)
    for number, folder in enumerate(folders, 1):
        with contextlib.suppress(BadJobFolder):  # told above
            job = folder.load()
            lacking = restored.elsewhere(folder, job)
            if lacking:
                remarks.append(
                    f"job {job.id} was restored from a report; {len(lacking)} of its "
                    f"{len(job.media)} original files are not here"
                )
            never_here = {folder.path_of(media.path) for media in lacking}
            changed = [path for path in folder.changed_originals(job) if path not in never_here]
            faults += [f"{path} is not the file that was recorded" for path in changed]
            faults += reports.faults(folder)
        progress.share(number / len(folders))
    return Looked(jobs=jobs, faults=tuple(faults), remarks=tuple(remarks))


def _lines(damaged: tuple[tuple[Path, str], ...]) -> tuple[str, ...]:
    return tuple(f"{path}: {reason}" for path, reason in damaged)
