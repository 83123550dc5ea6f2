"""A job as it lies elsewhere: in the folder of another device, or in a package. Only read.

What lies there may come from anybody. Only plain files count, no links; the record and its paths
are those that a program of ours writes; and record, events and the chains that were merged in
before must fit each other, else the job is refused.
"""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from recorder.archive.jobs import originals, schemas
from recorder.archive.jobs.adopting import MERGED
from recorder.archive.jobs.events import Chain, chain_in
from recorder.archive.jobs.proof import named_chains
from recorder.archive.jobs.restored import job_of_stranger
from recorder.archive.jobs.writing import FIRST_WITH_EVENTS
from recorder.archive.sharing.merge import State
from recorder.archive.sharing.package import MOST_READ_BYTES, Package
from recorder.errors import BadJobFolder, CannotImport, JobTooNew
from recorder.inputs import read_whole
from recorder.model.event import FILE_NAME as EVENTS
from recorder.model.evidence import digest
from recorder.model.job import FILE_NAME as RECORD
from recorder.model.job import Job

_DEEPEST = 8  # folders in one another; ours are one deep

LOOK_THERE = "nothing was changed here; see what 'seamnote archive check' says of it there"


class JobFiles(Protocol):
    """The files of one job by their names in its folder, such as 'media/1f0c6a2e9b7d_a.flac'.

    What cannot be read raises InputRefused or one of its children.
    """

    @property
    def place(self) -> Path:
        """Where they lie, for people."""

    def job_id(self) -> str:
        """As the place tells it."""

    def names(self) -> frozenset[str]:
        """Of all plain files."""

    def read(self, name: str) -> bytes:
        """A file that fits into memory."""

    def copy(self, name: str, target: Path) -> str:
        """Copy a file to the disk, with its time; SHA-256 of its bytes. OSError for the target."""

    def local(self, name: str) -> AbstractContextManager[Path]:
        """Inside, a file of the system with these bytes, only to be read."""


class FilesOfFolder:
    """JobFiles in a folder, which may be read-only."""

    def __init__(self, path: Path) -> None:
        self._path = path.absolute()
        self._names = frozenset(_plain_files(self._path, ""))

    @property
    def place(self) -> Path:
        return self._path

    def job_id(self) -> str:
        """That of the record: a folder that somebody copied may have another name."""
        with contextlib.suppress(ValueError, RecursionError):
            values = json.loads(self.read(RECORD))
            if isinstance(values, dict) and isinstance(values.get("id"), str):
                return str(values["id"])
        return self._path.name

    def names(self) -> frozenset[str]:
        return self._names

    def read(self, name: str) -> bytes:
        return read_whole(self._path / name, MOST_READ_BYTES)

    def copy(self, name: str, target: Path) -> str:
        return originals.copy(self._path / name, target)[0]

    @contextlib.contextmanager
    def local(self, name: str) -> Iterator[Path]:
        yield self._path / name


class FilesOfPackage:
    """JobFiles in an open package."""

    def __init__(self, package: Package, job_id: str) -> None:
        self._package = package
        self._id = job_id
        start = f"jobs/{job_id}/"
        self._entries = {
            entry.path.removeprefix(start): entry for entry in package.files_of(job_id)
        }

    @property
    def place(self) -> Path:
        return self._package.path

    def job_id(self) -> str:
        return self._id

    def names(self) -> frozenset[str]:
        return frozenset(self._entries)

    def read(self, name: str) -> bytes:
        return self._package.read(f"jobs/{self._id}/{name}")

    def copy(self, name: str, target: Path) -> str:
        self._package.copy(self._entries[name], target, lambda _: None)
        return self._entries[name].sha256

    @contextlib.contextmanager
    def local(self, name: str) -> Iterator[Path]:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / Path(name).name
            self.copy(name, path)
            yield path


@dataclass(frozen=True)
class Elsewhere:
    """A job that was looked at. record, events: the bytes of these files; events may be empty.
    chains: those that it merged in before, by SHA-256.
    """

    job: Job
    record: bytes
    events: bytes
    chains: dict[str, bytes]
    state: State


def look(files: JobFiles) -> Elsewhere:
    """The job in some files. Raises CannotImport, JobTooNew, InputRefused."""
    if RECORD not in files.names():
        raise CannotImport(
            path=files.place, job=files.place.name, detail=f"it has no {RECORD}", mend=LOOK_THERE
        )
    job_id = files.job_id()
    try:
        record = files.read(RECORD)
        job = job_of_stranger(record, job_id)
        events = files.read(EVENTS) if EVENTS in files.names() else b""
        chain = chain_in(events)
        _fit(record, chain)
        chains = _chains(files, chain)
    except JobTooNew as error:
        raise JobTooNew(path=files.place, detail=error.data["detail"]) from error
    except BadJobFolder as error:
        raise CannotImport(
            path=files.place, job=job_id[:80], detail=error.data["detail"], mend=LOOK_THERE
        ) from error
    merged = tuple(chain_in(content).events for content in chains.values())
    return Elsewhere(job, record, events, chains, State(job, chain.events, merged))


def merged_chains(folder: Path) -> dict[str, bytes]:
    """The chains that lie beside those of a job of this home, by SHA-256, as far as they are whole.

    Raises OSError.
    """
    found = {}
    for path in sorted((folder / MERGED).glob("*.jsonl")):
        content = path.read_bytes()
        if digest(content) == path.stem:
            found[path.stem] = content
    return found


def _fit(record: bytes, chain: Chain) -> None:
    """Raises BadJobFolder where record and events are not of each other."""
    path = Path(RECORD)
    if chain.faults:
        raise BadJobFolder(path=path, detail=f"{EVENTS}, {chain.faults[0]}")
    if not chain.events:
        if (schemas.version_of(record) or 0) >= FIRST_WITH_EVENTS:
            raise BadJobFolder(path=path, detail=f"its {EVENTS} is missing")
    elif digest(record) != chain.record:
        detail = f"its {RECORD} is not the record that the last event left"
        raise BadJobFolder(path=path, detail=detail)


def _chains(files: JobFiles, chain: Chain) -> dict[str, bytes]:
    """The files of events that a chain names. Raises BadJobFolder for one that is not whole."""
    found = {}
    for name in dict.fromkeys(name for _, name in named_chains(chain.events)):
        path = f"{MERGED}/{name}.jsonl"
        content = files.read(path) if path in files.names() else b""
        if digest(content) != name:
            raise BadJobFolder(path=Path(RECORD), detail=f"its {path} is not what was merged")
        found[name] = content
    return found


def _plain_files(folder: Path, start: str) -> Iterator[str]:
    """Names of all plain files below, without those on a dot; what cannot be read is not there."""
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith("."):
                continue
            if entry.is_dir(follow_symlinks=False) and start.count("/") < _DEEPEST:
                yield from _plain_files(Path(entry.path), f"{start}{entry.name}/")
            elif entry.is_file(follow_symlinks=False):
                yield f"{start}{entry.name}"
