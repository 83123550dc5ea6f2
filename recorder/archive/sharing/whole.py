"""A job that is not here taken in whole, byte for byte, under its own id.

Originals count by their bytes: one that is not what its record says is left where it is, and the
job is marked as one whose originals are elsewhere.
"""

from __future__ import annotations

import contextlib
import os
from datetime import datetime
from pathlib import Path

from pydantic import ValidationError

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home
from recorder.archive.jobs import media, schemas, sounds
from recorder.archive.jobs.adopting import MERGED
from recorder.archive.jobs.arriving import appear, arriving
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.restored import Restored
from recorder.archive.sharing.elsewhere import Elsewhere, JobFiles
from recorder.archive.sharing.package_names import fault_in
from recorder.errors import InputRefused, JobChanged
from recorder.model.evidence import digest
from recorder.model.job import Job, MediaFile
from recorder.model.report_record import dump as dump_report


def mark_elsewhere(path: Path, record: bytes) -> None:
    """Note in a job folder that originals of it may be elsewhere. Raises OutputUnwritable."""
    mark = JobFolder(path).restored_mark
    if not mark.exists():
        now = datetime.now().astimezone().replace(microsecond=0)
        told = Restored(report="", sha256=digest(record), at=now)
        atomic.write(mark, told.model_dump_json(indent=2).encode() + b"\n")


def take_whole(home: Home, there: Elsewhere, files: JobFiles) -> tuple[JobFolder, tuple[str, ...]]:
    """The folder as it is there, whole or not at all; names of the files that are damaged there.

    Raises JobChanged when it came meanwhile, InputRefused for the source, HomeUnusable.
    """
    left: list[str] = []
    with arriving(home) as staging:
        folder = JobFolder(staging)
        _write(folder.record, there.record)
        if there.events:
            _write(folder.events, there.events)
        for name, chain in there.chains.items():
            (staging / MERGED).mkdir(exist_ok=True)
            _write(staging / MERGED / f"{name}.jsonl", chain)
        for name in sorted(files.names()):
            # What else a session remembered stays away: a stranger's word that a job is to be
            # finished must not have it signed here.
            live = not there.job.complete and sounds.is_sound(name)
            if live or _is_made_of_it(name):
                (staging / name).parent.mkdir(parents=True, exist_ok=True)
                if not _copied(files, name, staging / name):
                    left.append(name)
        _write_old_records(folder, there.record)
        if folder.restored_mark.name in files.names():
            _take_mark(folder, files)
        lacking = _take_originals(staging, there.job, files)
        if lacking:
            mark_elsewhere(staging, there.record)
            left += [each.path for each in lacking if each.path in files.names()]
        for each in (staging, *(path for path in staging.rglob("*") if path.is_dir())):
            atomic.sync_folder(each)
        target = appear(staging, there.job.id)
    if target is None:
        raise JobChanged(path=home.jobs / there.job.id)
    return JobFolder(target), tuple(left)


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _is_made_of_it(name: str) -> bool:
    """Whether a file is one that was made of the originals, under a name for every system."""
    top, _, rest = name.partition("/")
    known = top == "derived" or (top == "reports" and Path(rest).suffix in (".pdf", ".json"))
    return bool(rest) and known and not fault_in(f"jobs/x/{name}")


def _write_old_records(folder: JobFolder, record: bytes) -> None:
    """What a job.json of schema 1 says of reports goes beside them."""
    for report in schemas.reports_in(record):
        pdf = folder.reports / Path(report.path).name
        if pdf.is_file() and not pdf.with_suffix(".json").exists():
            _write(pdf.with_suffix(".json"), dump_report(report))


def _take_mark(folder: JobFolder, files: JobFiles) -> None:
    content = files.read(folder.restored_mark.name)
    with contextlib.suppress(ValidationError):
        Restored.model_validate_json(content)
        _write(folder.restored_mark, content)


def _copied(files: JobFiles, name: str, target: Path, sha256: str = "") -> bool:
    """Whether a file was copied and, where it is given, has the digest that it should have."""
    copied = ""
    with contextlib.suppress(InputRefused):
        copied = files.copy(name, target)
    if not copied or (sha256 and copied != sha256):
        target.unlink(missing_ok=True)
        return False
    return True


def _take_originals(staging: Path, job: Job, files: JobFiles) -> list[MediaFile]:
    """Copy the originals whose bytes are those of the record; the others."""
    digests: dict[str, str] = {}
    lacking = []
    for each in (each for each in job.media if not each.removed):
        name = Path(each.path).name
        if digests.get(name) == each.sha256:  # the same file under two names
            continue
        if each.path in files.names() and _copied(
            files, each.path, staging / each.path, each.sha256
        ):
            digests[name] = each.sha256
        else:
            lacking.append(each)
    if digests:
        _write(staging / media.FOLDER / media.SUMS, media.dump_sums(dict(sorted(digests.items()))))
    return lacking
