"""The index made anew from the job folders, or held against them."""

from __future__ import annotations

from pathlib import Path

from recorder.archive.home import Home
from recorder.archive.index import Index
from recorder.flows.progress import Progress
from recorder.model.base import Value


class Looked(Value):
    """jobs: in the index. faults: one line for each job folder that cannot be read."""

    jobs: int
    faults: tuple[str, ...] = ()


def rebuild(home: Home, progress: Progress) -> Looked:
    """Make the index anew from the folders alone. Raises HomeUnusable, Busy."""
    progress.stage("making the index anew from the job folders")
    report = Index.rebuild(home, lambda done, every: progress.share(done / every))
    return Looked(jobs=report.count, faults=_lines(report.damaged))


def check(home: Home, progress: Progress) -> Looked:
    """Read every page of the index and every folder that it does not know. Raises IndexDamaged."""
    progress.stage("checking the index against the job folders")
    with Index.open(home) as index:
        index.check()
        return Looked(jobs=index.count(), faults=_lines(index.damaged))


def _lines(damaged: tuple[tuple[Path, str], ...]) -> tuple[str, ...]:
    return tuple(f"{path}: {reason}" for path, reason in damaged)
