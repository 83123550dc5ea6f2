"""What of a home goes into a package, and a home made again from one.

::

    jobs ──► each under its lock ──► package ──► a home without jobs ──► index
    settings, words, lenses, keys ─┘

Originals never change, and the sound of a running session only grows, so they are read after the
lock of their job was freed: nobody waits for gigabytes of sound. The index is not in a backup; it
is made again from the jobs. Names that begin with a dot are those of copies that have not arrived
and of locks, and stay out.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs import reports, restored, sounds
from recorder.archive.jobs.arriving import FOLDERS, arriving
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.media import SUMS
from recorder.archive.jobs.sounds import FOLDER as LIVE
from recorder.archive.sharing.package import Advance, Package
from recorder.archive.sharing.packing import Packer
from recorder.errors import BadJobFolder, Busy, OutputUnwritable, RecordChanged
from recorder.model.job import Job

HOME_FILES = (
    "settings.toml", "vocabulary.toml", "synonyms.toml", "searches.json", "card.toml",
    "windows.toml", "inventory.toml", "conveyors.toml", "checks.jsonl",
)  # fmt: skip
HOME_FOLDERS = ("cameras", "prepared", "recipes", "report_templates", "identity")
KEY_FILES = {".p12", ".pfx"}  # PKCS#12, encrypted by a passphrase


def files_under(folder: Path, packer: Packer | None = None) -> list[Path]:
    """All files of a folder and the folders in it, in order; what cannot be looked into is told."""

    def tell(path: object, detail: str) -> None:
        if packer:
            packer.tell(f"{path} is not in the package: {detail}")

    found: list[Path] = []
    walk = os.walk(folder, onerror=lambda error: tell(error.filename, cause(error)))
    for place, folders, names in walk:
        for each in folders:
            if (Path(place) / each).is_symlink() and not each.startswith("."):
                tell(Path(place) / each, "it is a link to a folder")
        folders[:] = sorted(each for each in folders if not each.startswith("."))
        found += [Path(place) / name for name in sorted(names) if not name.startswith(".")]
    return found


def home_files(
    home: Home, named: Iterable[Path], keys: bool, packer: Packer | None = None
) -> list[Path]:
    """The home's own files that are there; what cannot be looked into is told.

    named: others, which the settings name. keys: whether those that sign are among them.
    """
    found = [home.root / name for name in HOME_FILES]
    for name in HOME_FOLDERS:
        if (home.root / name).exists():
            found += files_under(home.root / name, packer)
    found += [path for path in named if path.is_relative_to(home.root)]
    unique = dict.fromkeys(path for path in found if path.exists())
    return [path for path in unique if keys or path.suffix.lower() not in KEY_FILES]


def add_home(packer: Packer, home: Home, files: Iterable[Path]) -> None:
    for path in files:
        packer.add(path, f"home/{path.relative_to(home.root).as_posix()}")


def add_job(packer: Packer, folder: JobFolder) -> None:
    """Take in the folder of a job as it is, and tell what of it is not as its record says."""
    taken: dict[str, str] = {}

    def take(paths: Iterable[Path]) -> None:
        for path in paths:
            name = path.relative_to(folder.path).as_posix()
            growing = path.parent == folder.path / LIVE
            entry = packer.add(path, f"jobs/{folder.id}/{name}", growing)
            if entry:
                taken[name] = entry.sha256

    with _still(packer, folder):
        job = _loaded(packer, folder)
        removed = {folder.path / media.path for media in job.media if media.removed} if job else ()
        files = [path for path in files_under(folder.path, packer) if path not in removed]
        originals = [path for path in files if _is_original(folder, path)]
        take(path for path in files if path not in set(originals))
    take(originals)
    if job:
        for fault in _faults(folder, job, taken):
            packer.tell(fault)


def _is_original(folder: JobFolder, path: Path) -> bool:
    if path.parent == folder.path / LIVE:
        return sounds.is_sound(f"{LIVE}/{path.name}")
    return path.parent == folder.path / "media" and path.name != SUMS


@contextlib.contextmanager
def _still(packer: Packer, folder: JobFolder) -> Iterator[None]:
    """Inside, no other process changes the record, and it fits its events.

    A place that cannot be written, where nobody can lock, stays still by itself.
    """
    with contextlib.ExitStack() as stack:
        try:
            stack.enter_context(lock.held(folder.path))
            with contextlib.suppress(RecordChanged, BadJobFolder):  # told of below
                folder.settle()
        except Busy:
            packer.tell(f"{folder.path} was being written meanwhile; back it up again")
        except OutputUnwritable:
            with contextlib.suppress(BadJobFolder):
                if folder.interrupted():
                    packer.tell(
                        f"{folder.path} waits for a writing to be finished; make room there"
                    )
        yield


def _loaded(packer: Packer, folder: JobFolder) -> Job | None:
    try:
        return folder.load()
    except BadJobFolder as error:
        packer.tell(error.problem_text)
        return None


def _faults(folder: JobFolder, job: Job, taken: dict[str, str]) -> Iterator[str]:
    """A line for each file that is not as the job's records say. taken: SHA-256 by name."""
    try:
        yield from folder.record_faults()
        never_here = {media.path for media in restored.elsewhere(folder, job)}
        written = reports.reports(folder)
    except (BadJobFolder, Busy) as error:
        yield error.problem_text
        return
    for media in job.media:
        if media.removed or media.path in never_here:
            continue
        if taken.get(media.path) != media.sha256:
            lost = "is missing" if media.path not in taken else "is not the file that was recorded"
            yield f"{folder.path / media.path} {lost}"
    for report in written:
        if taken.get(report.path) != report.sha256:
            yield f"{folder.path / report.path} is not the report that was written"


def restore_jobs(home: Home, package: Package, advance: Advance) -> None:
    """Make the folders of all jobs of a package; each appears whole or not at all.

    Raises BadPackage, HomeUnusable.
    """
    with arriving(home) as staging:
        for job_id in package.jobs:
            folder = staging / job_id
            for name in FOLDERS:
                (folder / name).mkdir(parents=True)
            package.unpack(job_id, folder, advance)
            folder.rename(home.jobs / job_id)
        atomic.sync_folder(home.jobs)


def restore_home(home: Home, package: Package, advance: Advance) -> tuple[str, ...]:
    """Put back the home's own files where there are none; the names of those that stayed.

    Raises BadPackage, OSError.
    """
    stayed = []
    for entry in package.of_the_home():
        target = home.root / entry.path.removeprefix("home/")
        if target.exists() or target.is_symlink():
            stayed.append(target.relative_to(home.root).as_posix())
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        arrived = target.with_name(f".{target.name}.arriving")
        try:
            arrived.unlink(missing_ok=True)
            secret = entry.path.startswith("home/identity/")
            package.copy(entry, arrived, advance, mode=0o600 if secret else 0o666)
            arrived.rename(target)
        finally:
            arrived.unlink(missing_ok=True)
        atomic.sync_folder(target.parent)
    return tuple(stayed)
