"""A job from elsewhere taken in: whole where it is not here, else merged into the one that is here.

::

    its files ─► looked at ─┬─► not here: a folder that appears whole, byte for byte
                            └─► here: chain kept ─► record and event ─► pictures, reports, originals

Each step can be done again after a kill.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from pydantic import JsonValue, ValidationError

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home
from recorder.archive.jobs import events, media, originals, reports, restored, schemas
from recorder.archive.jobs.adopting import keep_chain
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.names import mark_in
from recorder.archive.jobs.record import parse
from recorder.archive.sharing.elsewhere import Elsewhere, JobFiles, merged_chains
from recorder.archive.sharing.merge import Merged, State, merge
from recorder.archive.sharing.whole import mark_elsewhere, take_whole
from recorder.errors import (
    BadJobFolder,
    CannotImport,
    InputRefused,
    JobChanged,
    JobUnfinished,
)
from recorder.model.event import What
from recorder.model.evidence import digest
from recorder.model.job import Job
from recorder.model.report_record import ReportRecord

_TRIES = 5  # while another process goes on adding readings

Accept = Callable[[Merged], None]  # raises for a merge that is not to be


@dataclass(frozen=True)
class Taken:
    """folder: of the job that is here. merged: what came in; None for a job that was not here.
    noted: the event of a merge was written. reports: how many came along. brought: originals that
    were missing here. left: names of files that are damaged there and were not taken.
    """

    folder: JobFolder
    merged: Merged | None = None
    noted: bool = False
    reports: int = 0
    brought: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


class Here:
    """The jobs of a home, to be found by id or by their originals."""

    def __init__(self, home: Home) -> None:
        self._home = home
        self._by_mark: dict[str, list[JobFolder]] = {}
        for folder in job_folders(home):
            self.enter(folder)

    def enter(self, folder: JobFolder) -> None:
        mark = mark_in(folder.id)
        self._by_mark.setdefault(mark, []).append(folder)

    def folder_of(self, job: Job) -> JobFolder | None:
        """Where a job is here, also under another id: then all originals of one are the other's."""
        folder = JobFolder(self._home.jobs / job.id)
        if folder.path.exists() or folder.path.is_symlink():
            return folder
        hashes = {media.sha256 for media in job.media}
        marks = dict.fromkeys((mark_in(job.id), originals.digest_over(hashes)[:4]))
        for folder in (each for mark in marks for each in self._by_mark.get(mark, ())):
            with contextlib.suppress(BadJobFolder):
                known = {media.sha256 for media in folder.load().media}
                if hashes and known and (hashes <= known or known <= hashes):
                    return folder
        return None


def take(here: Here, home: Home, there: Elsewhere, files: JobFiles) -> Taken:
    """Take in a job that was looked at.

    Raises CannotImport, JobUnfinished, BadJobFolder, RecordChanged, InputRefused for the source,
    and Busy, OutputUnwritable or HomeUnusable for the home.
    """
    folder = here.folder_of(there.job)
    if folder is None:
        with contextlib.suppress(JobChanged):  # another import brought it meanwhile
            folder, left = take_whole(home, there, files)
            here.enter(folder)
            return Taken(folder, left=left)
        folder = JobFolder(home.jobs / there.job.id)
    merged, noted = merge_into(folder, there, files.place)
    if merged.news:
        _take_pictures(folder, merged, files)
    taken = _take_reports(folder, there, files)
    return Taken(folder, merged, noted, taken, _bring(folder, files))


def merge_into(
    folder: JobFolder, there: Elsewhere, source: Path, accept: Accept = lambda _: None,
    **more: JsonValue,
) -> tuple[Merged, bool]:  # fmt: skip
    """Merge into the job that is here; what came in, and whether anything was written.

    more: what the event tells besides. Raises as ``take``.
    """
    with lock.held(folder.path):
        folder.settle()  # what a killed import had written already does not come twice
    for _ in range(_TRIES):
        here = _state(folder)
        _same_job(here.job, there.job, source)
        merged = Merged(here.job) if here.job == there.job else merge(here, there.state)
        if not merged.news and (there.job.id == folder.id or there.job.id in _known_as(here)):
            return merged, False
        accept(merged)
        if not here.job.complete and not merged.job.complete:
            raise JobUnfinished(job=folder.id)
        if len(merged.job.media) > len(here.job.media):
            folder.update(lambda known: known)  # a record of schema 1 tells of reports itself
            mark_elsewhere(folder.path, there.record)
        data = {**more, "job": there.job.id, **_kept_chains(folder, there), **merged.data()}
        with contextlib.suppress(JobChanged):  # it came to hold more: once again
            folder.update(_instead_of(here.job, merged.job, folder), extra=(What.MERGED, data))
            return merged, True
    raise JobChanged(path=folder.path)


def _instead_of(known: Job, merged: Job, folder: JobFolder) -> Callable[[Job], Job]:
    def change(now: Job) -> Job:
        if now != known:
            raise JobChanged(path=folder.path)
        return merged

    return change


def _state(folder: JobFolder) -> State:
    content, _ = folder.read()
    job = parse(content, folder.path)
    try:
        chains = merged_chains(folder.path)
    except OSError as error:
        raise BadJobFolder(path=folder.path, detail=str(error)) from error
    merged = tuple(events.chain_in(chain).events for chain in chains.values())
    return State(job, events.read(folder.events).events, merged)


def _known_as(here: State) -> set[str]:
    """The ids that other devices have given the job, as far as they were merged in."""
    merges = (event for event in here.events if event.what is What.MERGED)
    return {str(event.data.get("job")) for event in merges}


def _same_job(here: Job, there: Job, source: Path) -> None:
    ours, theirs = ({media.sha256 for media in job.media} for job in (here, there))
    if (ours or theirs) and ours.isdisjoint(theirs):  # every job has an original
        raise CannotImport(
            path=source, job=there.id, detail="another job has its id here",
            mend="nothing was changed; to see both, import it into another home with --home DIR",
        )  # fmt: skip


def _kept_chains(folder: JobFolder, there: Elsewhere) -> dict[str, JsonValue]:
    """Keep the chain of the other side, and those that it had merged before, byte for byte."""
    if not there.events:
        return {}
    others: list[JsonValue] = [keep_chain(folder.path, chain) for chain in there.chains.values()]
    return {"chain": keep_chain(folder.path, there.events), "chains": others}


def _take_pictures(folder: JobFolder, merged: Merged, files: JobFiles) -> None:
    """The pictures of the measurements that came in, where no other stands."""
    for seam in merged.job.measurements:
        for path in (seam.overlay, seam.plot):
            if path and path in files.names() and not folder.path_of(path).exists():
                folder.path_of(path).parent.mkdir(parents=True, exist_ok=True)
                with contextlib.suppress(InputRefused):  # a picture can be made again
                    atomic.write(folder.path_of(path), files.read(path))


def _take_reports(folder: JobFolder, there: Elsewhere, files: JobFiles) -> int:
    """Those that are not here; one that is not as its record says is left there."""
    known = {record.sha256 for record in reports.reports(folder)}
    taken = 0
    for record in _reports_of(there, files):
        if record.sha256 in known or record.path not in files.names():
            continue
        with contextlib.suppress(InputRefused):
            pdf = files.read(record.path)
            if digest(pdf) == record.sha256:
                reports.take_in(folder, pdf, record, arrived=True)
                known.add(record.sha256)
                taken += 1
    return taken


def _reports_of(there: Elsewhere, files: JobFiles) -> Iterator[ReportRecord]:
    with contextlib.suppress(ValidationError):
        yield from schemas.reports_in(there.record)
    for name in sorted(files.names()):
        if name.startswith("reports/") and name.endswith(".json"):
            with contextlib.suppress(InputRefused, ValidationError):
                record = ReportRecord.model_validate_json(files.read(name))
                yield record.model_copy(update={"path": f"{name.removesuffix('.json')}.pdf"})


def _bring(folder: JobFolder, files: JobFiles) -> tuple[str, ...]:
    """Take in originals that are missing here, from under whatever name they have there."""
    lacking = restored.elsewhere(folder, folder.load())
    if not lacking:
        return ()
    wanted = {each.sha256[: media.PREFIX_DIGITS] for each in lacking}
    brought: list[str] = []
    for name in sorted(files.names()):
        top, _, rest = name.partition("/")
        if top == media.FOLDER and rest[: media.PREFIX_DIGITS] in wanted:
            with contextlib.suppress(InputRefused), files.local(name) as path:
                brought += restored.put_back(folder, [path])
    return tuple(brought)
