"""Jobs from elsewhere into this home: from a report, a package, another home or a job folder.

::

    source ─► its jobs ─► each looked at ─► taken in whole, or merged ─► index

A job that is refused does not stop the rest. Reports are signed; packages and folders are not: who
imports one trusts the device that it came from, and the events say which that was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import NamedTuple

from recorder.archive.disk.home import Home, cause
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs import restored
from recorder.archive.sharing.elsewhere import FilesOfFolder, FilesOfPackage, JobFiles, look
from recorder.archive.sharing.package import opened
from recorder.archive.sharing.taking import Here, take
from recorder.errors import Busy, FileMissing, InputRefused
from recorder.flows.imported import Imported, imported
from recorder.flows.progress import Progress
from recorder.flows.restore import import_report, loose_files
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.plural import counted

_NO_JOBS = (
    "it is neither a home nor the folder of a job; recordings and photos are for 'seamnote process'"
)


class _Place(NamedTuple):
    """Where a job lies. name: of it, for people. open: to look at its files."""

    name: str
    open: Callable[[], JobFiles]


def import_from(
    home: Home, source: Path, originals: Path | None, from_unknown: bool, progress: Progress
) -> Iterator[Imported]:
    """Take in the jobs of one source, one after another.

    originals: a folder in which files of the jobs may lie, whatever they are called.
    from_unknown: whether a report may change a job that is here though this home does not know
    who signed it. Raises FileMissing, InputRefused, BadPackage for a source that cannot be used at
    all, what ``import_report`` raises, and HomeUnusable, OutputUnwritable.
    """
    files = loose_files(originals) if originals else []
    try:
        with _jobs_in(source) as places:
            if places is None:
                yield import_report(home, source, files, from_unknown, progress)
                return
            if not places:
                raise InputRefused(path=source, detail="there are no jobs in it")
            progress.stage(f"taking in {counted(len(places), 'job')} of {source.name}")
            here = Here(home)
            for number, place in enumerate(places, 1):
                yield _taken_in(home, here, source, place, files)
                progress.share(number / len(places))
    finally:
        bring_up_to_date(home)


def _taken_in(home: Home, here: Here, source: Path, place: _Place, loose: list[Path]) -> Imported:
    try:
        files = place.open()
        there = look(files)
        taken = take(here, home, there, files)
        brought = restored.put_back(taken.folder, loose) if loose else ()
        return imported(source, there.job, taken, brought=(*taken.brought, *brought))
    except (InputRefused, Busy) as error:
        return Imported(file=str(source), job=place.name, outcome="refused", refused=str(error))


@contextmanager
def _jobs_in(source: Path) -> Iterator[list[_Place] | None]:
    """The jobs in a package, a home or a job folder; None for a file that may be a report."""
    if not source.exists():
        raise FileMissing(path=source)
    if source.is_dir():
        yield _in_folder(source)
    elif _is_package(source):
        with opened(source) as package:
            yield [_Place(name, partial(FilesOfPackage, package, name)) for name in package.jobs]
    else:
        yield None


def _in_folder(source: Path) -> list[_Place]:
    """A job folder itself, the jobs of a home, or a folder of job folders."""
    if (source / RECORD).exists():
        return [_Place(source.absolute().name, partial(FilesOfFolder, source))]
    jobs = source / "jobs"
    try:
        below = sorted((jobs if jobs.is_dir() else source).iterdir())
    except OSError as error:
        raise InputRefused(path=source, detail=cause(error)) from error
    found = [
        _Place(path.name, partial(FilesOfFolder, path))
        for path in below
        if path.is_dir() and not path.is_symlink() and path.name[0] != "."
    ]
    if not jobs.is_dir() and not any((source / each.name / RECORD).exists() for each in found):
        raise InputRefused(path=source, detail=_NO_JOBS)
    return found


def _is_package(source: Path) -> bool:
    """Whether a file begins as a ZIP file does. What it holds is looked at later."""
    try:
        if not source.is_file():
            return False
        with source.open("rb") as file:
            return file.read(2) == b"PK"
    except OSError as error:
        raise InputRefused(path=source, detail=cause(error)) from error
