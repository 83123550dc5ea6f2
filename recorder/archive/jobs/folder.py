"""The folder of one job: the truth, readable without the program.

::

    jobs/<id>/
      job.json     everything that was heard, measured and confirmed
      media/       the originals, byte for byte
      derived/     what the program made of them: overlays, transcript, draft
      reports/     signed reports, each with its record beside it
      restored.json   only where the job came out of a report
"""

from __future__ import annotations

import contextlib
import itertools
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pydantic import ValidationError

from recorder import __version__
from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.jobs import originals, schemas
from recorder.archive.jobs.arriving import arriving
from recorder.errors import (
    BadJobFolder,
    HomeUnusable,
    InputRefused,
    JobChanged,
    JobTooNew,
)
from recorder.model.job import FILE_NAME, SCHEMA_VERSION, Job, MediaKind
from recorder.model.report_record import ReportRecord


@dataclass(frozen=True)
class JobFolder:
    """path: of the folder; its name is the id of the job."""

    path: Path

    @classmethod
    def create(
        cls, home: Home, files: Sequence[Path], kinds: Sequence[MediaKind], now: datetime
    ) -> tuple[JobFolder, Job]:
        """A new job with copies of ``files`` (``kinds`` in the same order); nothing understood yet.

        The folder appears whole or not at all. Raises FileMissing, InputRefused, HomeUnusable.
        """
        with arriving(home) as staging:
            return _fill(staging, files, kinds, now)

    @property
    def id(self) -> str:
        return self.path.name

    @property
    def record(self) -> Path:
        return self.path / FILE_NAME

    @property
    def derived(self) -> Path:
        return self.path / "derived"

    @property
    def reports(self) -> Path:
        return self.path / "reports"

    @property
    def restored_mark(self) -> Path:
        """Where ``recorder.archive.jobs.restored`` says that the job came out of a report."""
        return self.path / "restored.json"

    def path_of(self, relative: str) -> Path:
        """Absolute path of a file named in the record. BadJobFolder when it leads out."""
        try:
            path = (self.path / relative).resolve()
        except (OSError, ValueError) as error:
            raise BadJobFolder(path=self.path, detail=f"bad path {relative!r}") from error
        if not path.is_relative_to(self.path.resolve()):
            raise BadJobFolder(path=self.path, detail=f"{relative!r} leads out of the folder")
        return path

    def load(self) -> Job:
        """The job. Raises BadJobFolder (or its child JobTooNew)."""
        return parse(self.read()[0], self.path)

    def read(self) -> tuple[bytes, str]:
        """The bytes of the record and the stamp of the same file. Raises BadJobFolder."""
        with self._translated(), self.record.open("rb") as file:
            return file.read(), _stamp(os.fstat(file.fileno()))

    def stamp(self) -> str:
        """Another text after each writing of the record. Raises BadJobFolder."""
        with self._translated():
            return _stamp(self.record.stat())

    def changed_originals(self, job: Job) -> list[Path]:
        """Originals that are gone or whose bytes are not those that were recorded."""
        changed: list[Path] = []
        for media in job.media:
            path = self.path_of(media.path)
            try:
                if originals.sha256_of(path) != media.sha256:
                    changed.append(path)
            except InputRefused:
                changed.append(path)
        return changed

    def save(self, job: Job) -> None:
        """Replace the record. Raises JobChanged, BadJobFolder, Busy, OutputUnwritable.

        A complete job only ever gains readings: a record that lacks some of those on disk comes
        from someone who has not seen them, and is refused.
        """
        with lock.held(self.path):
            content, _ = self.read()
            self._save(job, parse(content, self.path), content)

    def update(self, change: Callable[[Job], Job]) -> Job:
        """Load, change and save while no other process can; the new job. Raises as ``save``."""
        with lock.held(self.path):
            content, _ = self.read()
            known = parse(content, self.path)
            job = change(known)
            self._save(job, known, content)
            return job

    @contextlib.contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except FileNotFoundError as error:
            raise BadJobFolder(path=self.path, detail="job.json is missing") from error
        except OSError as error:
            raise BadJobFolder(path=self.path, detail=cause(error)) from error

    def _save(self, job: Job, known: Job, content: bytes) -> None:
        """known, content: the record that is replaced, and its bytes."""
        if job.id != self.id:
            raise ValueError(f"job {job.id} does not belong into {self.path}")
        if known.complete and job.readings[: len(known.readings)] != known.readings:
            raise JobChanged(path=self.path)
        old = () if self.restored_mark.exists() else schemas.reports_in(content)
        for record in old:
            beside = self.path_of(record.path).with_suffix(".json")
            if not beside.exists():
                beside.parent.mkdir(exist_ok=True)
                atomic.write(beside, dump_report(record))
        atomic.sweep(self.record)
        atomic.write(self.record, dump(job))


def dump_report(record: ReportRecord) -> bytes:
    """The content of the file beside the PDF of a report."""
    return record.model_dump_json(indent=2).encode() + b"\n"


def dump(job: Job) -> bytes:
    """The content of job.json: UTF-8, indented, in the order of the model."""
    return job.model_dump_json(indent=2).encode() + b"\n"


def parse(content: bytes, path: Path) -> Job:
    """The job in the job.json of the folder ``path``. Raises BadJobFolder, JobTooNew."""
    try:
        job = schemas.job_in(content)
    except ValidationError as error:
        _refuse_newer(content, path)
        fault = error.errors(include_url=False)[0]
        place = ".".join(str(part) for part in fault["loc"])
        detail = f"job.json, {place}: {fault['msg']}" if place else f"job.json: {fault['msg']}"
        raise BadJobFolder(path=path, detail=detail) from error
    if job.schema_version > SCHEMA_VERSION:
        _refuse_newer(content, path)
    if job.id != path.name:
        raise BadJobFolder(path=path, detail=f"job.json belongs to job {job.id}")
    return job


def _refuse_newer(content: bytes, path: Path) -> None:
    """JobTooNew when the record, which does not fit the model, says that it need not."""
    version = schemas.version_of(content)
    if version is not None and version > SCHEMA_VERSION:
        detail = f"it was written by a newer Seamnote, schema {version}"
        raise JobTooNew(path=path, detail=detail)


def _stamp(stat: os.stat_result) -> str:
    return f"{stat.st_mtime_ns}:{stat.st_size}"


def job_folders(home: Home) -> list[JobFolder]:
    """All job folders, oldest first, damaged ones too. Raises HomeUnusable."""
    try:
        paths = [p for p in home.jobs.iterdir() if p.name[0] != "." and p.is_dir()]
    except OSError as error:
        raise HomeUnusable(path=home.root, detail=cause(error)) from error
    return [JobFolder(path) for path in sorted(paths)]


def find_by_originals(home: Home, files: Sequence[Path]) -> Job | None:
    """The newest job that was made of exactly these files, whatever they are called now.

    Raises FileMissing, InputRefused, HomeUnusable.
    """
    wanted = {originals.sha256_of(file) for file in files}
    mark = _mark(wanted)
    for folder in reversed(job_folders(home)):
        if mark not in folder.id.split("-")[2:3]:
            continue
        with contextlib.suppress(BadJobFolder):
            job = folder.load()
            if {media.sha256 for media in job.media} == wanted:
                return job
    return None


def _fill(
    staging: Path, files: Sequence[Path], kinds: Sequence[MediaKind], now: datetime
) -> tuple[JobFolder, Job]:
    kept = [originals.keep(file, kind, staging) for file, kind in zip(files, kinds, strict=True)]
    atomic.sync_folder(staging / "media")
    media = tuple(dict.fromkeys(kept))
    for job_id in _ids(now, {file.sha256 for file in media}):
        job = Job(id=job_id, created_at=now.astimezone(), version=__version__, media=media)
        atomic.write(staging / FILE_NAME, dump(job))
        target = staging.with_name(job_id)
        try:
            staging.rename(target)
        except OSError:
            if target.exists():  # on Windows and POSIX alike, though their errors differ
                continue
            raise
        atomic.sync_folder(target.parent)
        return JobFolder(target), job
    raise AssertionError("the names never end")


def _ids(now: datetime, hashes: set[str]) -> Iterator[str]:
    """Names for a new job, the plain one first: ``20261125-204530-3f9a``, then ``…-3f9a-2``."""
    name = f"{now.astimezone(UTC):%Y%m%d-%H%M%S}-{_mark(hashes)}"
    yield name
    for number in itertools.count(2):
        yield f"{name}-{number}"


def _mark(hashes: set[str]) -> str:
    return originals.digest_over(hashes)[:4]
