"""All of a home to one file that was read back, and a home made again from it.

::

    home ─► package, beside its place ─► read back, compared ─► its place
    package ─► read through ─► the home's own files ─► jobs, each whole ─► index
"""

from __future__ import annotations

import shutil
from datetime import datetime
from pathlib import Path

from recorder.archive.disk.home import Home, cause
from recorder.archive.index.index import Index
from recorder.archive.jobs.acting import actor
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.originals import sha256_of
from recorder.archive.sharing import backup as parts
from recorder.archive.sharing.package import Package, opened
from recorder.archive.sharing.packing import Packer, Written, write
from recorder.errors import BadSettings, HomeUnusable, JobsHere
from recorder.flows.progress import Bytes, Progress
from recorder.model.base import Value
from recorder.model.event import Actor
from recorder.model.plural import counted
from recorder.settings import load


class Kept(Value):
    """What a package holds.

    path, size_bytes, sha256: of its file. kind: backup or export. jobs, files, unpacked_bytes: in
    it. keys: names of the keys in it. written_at, by: see Contents. faults: what was not as it
    should be when it was written. remarks: what it does not hold.
    """

    path: Path
    size_bytes: int
    sha256: str
    kind: str
    written_at: datetime
    by: Actor
    jobs: int
    files: int
    unpacked_bytes: int
    keys: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


class Restored(Value):
    """jobs: that were made. stayed: files of the home that were there and were not replaced.
    faults: of the backup, when it was written. damaged: jobs that the index cannot take.
    """

    jobs: int
    stayed: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    damaged: tuple[str, ...] = ()


def backup(home: Home, target: Path, *, keys: bool, replace: bool, progress: Progress) -> Kept:
    """Write all jobs and the home's own files into one file, and read it back.

    keys: whether those that sign go along. Raises OutputExists unless ``replace``,
    OutputUnwritable, Busy, HomeUnusable; then the place of the file is as it was.
    """
    progress.stage("looking what there is")
    named, remarks, faults = _named_in_settings(home)
    mine = target.expanduser().absolute()  # not the file that this one replaces
    folders = job_folders(home)

    def own(packer: Packer | None = None) -> list[Path]:
        return [path for path in parts.home_files(home, named, keys, packer) if path != mine]

    def fill(packer: Packer) -> None:
        for fault in faults:
            packer.tell(fault)
        parts.add_home(packer, home, own(packer))
        for folder in folders:
            parts.add_job(packer, folder)

    total_bytes = sum(map(_size_bytes, own())) + bytes_of(folders)
    progress.stage(f"writing {target.name} and reading it back")
    written = write(
        target, fill, kind="backup", by=actor(), at=now(), replace=replace,
        advance=Bytes(progress, 2 * total_bytes),
    )  # fmt: skip
    if not keys:
        remarks.append("the keys that sign are not in it")
    return describe(written).model_copy(update={"remarks": tuple(remarks)})


def look(path: Path, progress: Progress) -> Kept:
    """Read a package through and say what is in it. Raises FileMissing, BadPackage."""
    with opened(path) as package:
        _read_through(package, progress)
        return describe(Written(path, path.stat().st_size, sha256_of(path), package.contents))


def restore(home: Home, path: Path, progress: Progress) -> Restored:
    """Fill a home that holds no job from a package. Nothing is written before it was read through.

    Raises JobsHere, FileMissing, BadPackage, HomeUnusable, Busy.
    """
    here = job_folders(home)
    if here:
        raise JobsHere(path=home.root, count=len(here), package=path)
    with opened(path) as package:
        _need_space(home, package)
        _read_through(package, progress)
        progress.stage(f"restoring {counted(len(package.jobs), 'job')}")
        advance = Bytes(progress, package.size_bytes)
        try:
            stayed = parts.restore_home(home, package, advance)
        except OSError as error:
            raise HomeUnusable(path=home.root, detail=cause(error)) from error
        parts.restore_jobs(home, package, advance)
        faults = package.contents.faults
    progress.stage("making the index from the jobs")
    report = Index.rebuild(home, lambda done, every: progress.share(done / every))
    damaged = tuple(f"{place}: {reason}" for place, reason in report.damaged)
    jobs = report.count + len(damaged)
    return Restored(jobs=jobs, stayed=stayed, faults=faults, damaged=damaged)


def describe(written: Written) -> Kept:
    """What there is to say of a package."""
    contents = written.contents
    names = [entry.path for entry in contents.files]
    return Kept(
        path=written.path,
        size_bytes=written.size_bytes,
        sha256=written.sha256,
        kind=contents.kind,
        written_at=contents.written_at,
        by=contents.by,
        jobs=len({name.split("/")[1] for name in names if name.startswith("jobs/")}),
        files=len(names),
        unpacked_bytes=sum(entry.size_bytes for entry in contents.files),
        keys=tuple(
            name
            for name in names
            if name.startswith("home/") and Path(name).suffix.lower() in parts.KEY_FILES
        ),
        faults=contents.faults,
    )


def _read_through(package: Package, progress: Progress) -> None:
    progress.stage(f"reading {package.path.name} through")
    package.check(Bytes(progress, package.size_bytes))


def _need_space(home: Home, package: Package) -> None:
    """A file that says to unpack to more than there is room for is not even begun."""
    free_bytes = shutil.disk_usage(home.root).free
    if package.size_bytes > free_bytes:
        needed, free = (f"{n / 1e6:,.1f} MB" for n in (package.size_bytes, free_bytes))
        raise HomeUnusable(path=home.root, detail=f"{needed} are needed, {free} are free")


def _named_in_settings(home: Home) -> tuple[list[Path], list[str], list[str]]:
    """Files that the settings name; a remark for each outside of the home; what is wrong."""
    try:
        settings = load(home.settings)
    except BadSettings as error:
        return [], [], [error.problem_text]
    key = settings.identity.pkcs12
    named = [settings.report.logo, home.root / key.expanduser() if key else None]
    paths = [Path(path).absolute() for path in named if path]
    outside = [path for path in paths if not path.resolve().is_relative_to(home.root.resolve())]
    remarks = [f"{path} lies outside of the home and is not in it" for path in outside]
    return [path for path in paths if path not in outside], remarks, []


def bytes_of(folders: list[JobFolder]) -> int:
    """Of all files in them, by their sizes now."""
    return sum(_size_bytes(path) for folder in folders for path in parts.files_under(folder.path))


def _size_bytes(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0


def now() -> datetime:
    """To the second, with zone."""
    return datetime.now().astimezone().replace(microsecond=0)
