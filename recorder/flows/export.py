"""Chosen jobs to a file for other programs or another home.

::

    what is asked ─► ids of jobs ─► CSV, one row a press run │ JSON, one job a line │ package
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Literal, TextIO

from recorder.archive.disk.home import Home
from recorder.archive.jobs.acting import actor
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.sharing import run_table
from recorder.archive.sharing.backup import add_job
from recorder.archive.sharing.packing import Packer, write
from recorder.archive.sharing.placing import placed
from recorder.archive.sharing.table import Units, write_csv
from recorder.errors import BadJobFolder
from recorder.flows.backup import Kept, bytes_of, describe, now
from recorder.flows.progress import Bytes, Progress
from recorder.model.base import Value
from recorder.model.job import Job
from recorder.model.plural import counted


class Exported(Value):
    """path: None for standard output. jobs: that were written. faults: a line for each that could
    not be read.
    """

    path: Path | None
    jobs: int
    faults: tuple[str, ...] = ()


class _Reading:
    """The jobs of some folders, one after another; those that cannot be read are told."""

    def __init__(self, folders: list[JobFolder], progress: Progress) -> None:
        self.faults: list[str] = []
        self.count = 0
        self._folders = folders
        self._progress = progress

    def __iter__(self) -> Iterator[Job]:
        for number, folder in enumerate(self._folders, 1):
            try:
                job = folder.load()
            except BadJobFolder as error:
                self.faults.append(error.problem_text)
                continue
            yield job
            self.count += 1
            self._progress.share(number / len(self._folders))


def export_text(
    home: Home, ids: Sequence[str], target: Path | TextIO, form: Literal["csv", "json"], *,
    units: Units, replace: bool, progress: Progress,
) -> Exported:  # fmt: skip
    """Write jobs as CSV, one row for each press run of each splice, or as JSON, one job a line as
    job.json has it (in the units of the record).

    target: a path, or an open text file without translation of line ends. Raises OutputExists
    unless ``replace``, OutputUnwritable, Busy.
    """
    progress.stage(f"writing {counted(len(ids), 'job')}")
    jobs = _Reading([JobFolder(home.jobs / each) for each in ids], progress)
    if not isinstance(target, Path):
        _write(target, jobs, form, units)
        return Exported(path=None, jobs=jobs.count, faults=tuple(jobs.faults))
    with (
        placed(target, replace) as temporary,
        temporary.open("w", encoding="utf-8", newline="") as file,
    ):
        _write(file, jobs, form, units)
        file.flush()
        os.fsync(file.fileno())
    return Exported(path=target, jobs=jobs.count, faults=tuple(jobs.faults))


def export_package(
    home: Home, ids: Sequence[str], target: Path, *, replace: bool, progress: Progress
) -> Kept:  # fmt: skip
    """Write whole jobs with their media into a package that 'archive import' takes.

    Raises as ``backup``.
    """
    folders = [JobFolder(home.jobs / each) for each in ids]

    def fill(packer: Packer) -> None:
        for folder in folders:
            add_job(packer, folder)

    progress.stage(f"writing {target.name} and reading it back")
    written = write(
        target, fill, kind="export", by=actor(), at=now(), replace=replace,
        advance=Bytes(progress, 2 * bytes_of(folders)),
    )  # fmt: skip
    return describe(written)


def _write(file: TextIO, jobs: Iterable[Job], form: str, units: Units) -> None:
    if form == "json":
        file.writelines(f"{job.model_dump_json()}\n" for job in jobs)
    else:
        rows = (row for job in jobs for row in run_table.rows(job, units))
        write_csv(file, run_table.headings(units), rows)
