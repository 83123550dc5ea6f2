"""The index made anew from the job folders, or everything held against everything else.

::

    job.json ─ its events ─ its originals ─ its reports      each folder by itself
        └ index                                              what words and ranges find of it

One fault stops nothing: it is told with its path, and the rest is looked at.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.firm import conveyors, inventory, recipes, windows
from recorder.archive.firm.checks import noted_checks
from recorder.archive.index.index import Index, bring_up_to_date
from recorder.archive.jobs import media, reports, restored, sounds
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.sharing import redaction
from recorder.errors import (
    BadJobFolder,
    Busy,
    HomeUnusable,
    IndexDamaged,
    InputRefused,
    OutputUnwritable,
)
from recorder.flows.progress import Progress
from recorder.model.base import Value
from recorder.model.job import Job

JOBS_SHOWN = 5


class Looked(Value):
    """folders: of jobs. jobs: in the index; None where it cannot be read. faults: one line for each
    job folder that cannot be read, and for each file that is not as it was recorded. remarks: one
    line for each thing that a person may want to know and that is no fault, as originals that were
    never here.
    """

    folders: int
    jobs: int | None
    faults: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass
class _Told:
    """index: to hold the folders against; None where it cannot be used, of which a line tells.
    without_events: ids of jobs of earlier versions.
    """

    index: Index | None = None
    without_events: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    @contextlib.contextmanager
    def goes_on(self) -> Iterator[None]:
        """Inside, a folder that cannot be read is a fault among others."""
        try:
            yield
        except BadJobFolder as error:
            self.faults.append(f"{error.data['path']}: {error.data['detail']}")


def rebuild(home: Home, progress: Progress) -> Looked:
    """Make the index anew from the folders alone. Raises HomeUnusable, Busy."""
    progress.stage("making the index anew from the job folders")
    report = Index.rebuild(home, lambda done, every: progress.share(done / every))
    folders = report.count + len(report.damaged)
    return Looked(folders=folders, jobs=report.count, faults=_lines(report.damaged))


def check(home: Home, progress: Progress) -> Looked:
    """Read every page of the index, every record, event, original file and report, and the firm's
    recipes and lists.

    Nothing in the job folders is changed, so that a home can be checked where it is read-only.
    Raises HomeUnusable.
    """
    told = _Told()
    folders = job_folders(home)
    with contextlib.ExitStack() as opened:
        progress.stage("checking the index")
        told.index = _sound_index(home, told, opened, progress)
        jobs = told.index.count() if told.index else None
        progress.stage("checking records, events, original files and reports")
        for number, folder in enumerate(folders, 1):
            _check_folder(folder, told)
            progress.share(number / len(folders))
    told.faults += [str(fault) for fault in recipes.all_kept(home)[1]]
    told.faults += _list_faults(home)
    if told.without_events:
        told.remarks.append(_without_events(told.without_events))
    faults = tuple(dict.fromkeys(told.faults))  # what two looks found is told once
    return Looked(folders=len(folders), jobs=jobs, faults=faults, remarks=tuple(told.remarks))


def _list_faults(home: Home) -> list[str]:
    """Of the firm's lists and what was noted for them."""
    faults = []
    for read in (inventory.inventory, conveyors.conveyors, windows.windows, noted_checks):
        try:
            read(home)
        except InputRefused as error:
            faults.append(str(error))
    return faults


def adopt(home: Home, folder: JobFolder, reason: str) -> tuple[str, ...]:
    """Take the record of a job as it is; the faults that were mended so, none for a sound job.

    Raises BadJobFolder, Busy, OutputUnwritable, and what opening the index raises.
    """
    faults = (*folder.record_faults(), *reports.unknown_to_events(folder))
    if faults:
        folder.adopt(reason)
        bring_up_to_date(home, folder.id)
    return faults


def _sound_index(
    home: Home, told: _Told, opened: contextlib.ExitStack, progress: Progress
) -> Index | None:
    """The index, brought up to date with the folders, if every page of it is sound."""
    try:
        index = opened.enter_context(
            Index.open(home, lambda done, every: progress.share(done / every))
        )
        index.check()
    except IndexDamaged as error:
        told.faults.append(str(error))
    except (HomeUnusable, OutputUnwritable, Busy) as error:
        told.remarks.append(f"the index was not looked at ({error.problem_text}); the rest was")
    else:
        return index
    return None


def _check_folder(folder: JobFolder, told: _Told) -> None:
    faults: tuple[str, ...] = ()
    with told.goes_on():
        faults = folder.record_faults()
        told.faults += faults
        if not (faults or folder.events.exists()):
            told.without_events.append(folder.id)
    with told.goes_on():
        told.faults += reports.faults(folder)
    with told.goes_on():
        if not faults and folder.interrupted():
            told.remarks.append(
                f"{folder.path}: its last saving was cut off before it was acknowledged; the next "
                "one mends that"
            )
        job = folder.load()
        _check_originals(folder, job, told)
        _check_index(job, told)


def _check_index(job: Job, told: _Told) -> None:
    if told.index is None:
        return
    try:
        other = told.index.differences(job)
    except IndexDamaged as error:
        told.faults.append(str(error))
        told.index = None
        return
    if other:
        told.faults.append(
            f"{told.index.home.index} holds job {job.id} otherwise than its folder "
            f"({', '.join(other)}); run 'seamnote archive rebuild'"
        )


def _check_originals(folder: JobFolder, job: Job, told: _Told) -> None:
    lacking = restored.elsewhere(folder, job)
    if lacking:
        told.remarks.append(
            f"job {job.id} came from elsewhere; {len(lacking)} of its {len(job.media)} original "
            "files are not here"
        )
    never_here = {folder.path_of(each.path) for each in lacking}
    changed = [path for path in folder.changed_originals(job) if path not in never_here]
    told.faults += [f"{path} is not the file that was recorded" for path in changed]
    told.faults += media.faults(folder.path, job)
    told.faults += redaction.faults(folder, job)
    told.faults += sounds.faults(folder.path)
    if sounds.is_live(folder.path):
        told.remarks.append(
            f"job {job.id} is a session that has not ended; go on with it by 'seamnote serve'"
        )


def _without_events(ids: list[str]) -> str:
    """Whoever takes the events away and calls the record one of an earlier version leaves this."""
    shown = ", ".join(ids[:JOBS_SHOWN])
    more = f" and {len(ids) - JOBS_SHOWN} more" if len(ids) > JOBS_SHOWN else ""
    return f"of an earlier version, without events until they are changed: {shown}{more}"


def _lines(damaged: tuple[tuple[Path, str], ...]) -> tuple[str, ...]:
    return tuple(f"{path}: {reason}" for path, reason in damaged)
