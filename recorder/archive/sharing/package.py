"""A package: whole jobs, and for a backup the home's own files, in one ZIP file.

::

    jobs/<id>/...     the folder of each job as it was on disk
    home/...          settings, words, lenses, keys: in a backup
    contents.json     last: who wrote it when, and every file with its SHA-256 and size

Any ZIP program opens it; text is deflated, what is compressed already is stored. The digests are
known only once everything was read, so ``contents.json`` is the last entry; the directory at the
end of a ZIP file finds it at once. A package may come from anybody: nothing is read from one
whose names and sizes are not those of its contents, and nothing counts whose digest is another.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import BinaryIO, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError
from pydantic.dataclasses import dataclass

from recorder.archive.disk import atomic
from recorder.archive.disk.home import cause
from recorder.archive.sharing.package_names import Names, fault_in
from recorder.errors import BadPackage, FileMissing, InputRefused
from recorder.model.base import Value
from recorder.model.digests import Sha256, Size
from recorder.model.event import Actor

CONTENTS = "contents.json"
VERSION = 1
CHUNK_BYTES = 1 << 20
# A home of 100,000 jobs has some 700,000 files, of which each takes about 150 bytes in the
# directory at the end of the ZIP file and 250 in contents.json. Beyond this it is no home.
MOST_DIRECTORY_BYTES = 1 << 28
CONTENTS_BYTES_PER_FILE = 4096
MOST_READ_BYTES = 1 << 28  # of a file that is read whole, such as a record

# Asked for at once, files reach the disk together: 2 ms a job where one after another took 40 ms.
SYNCS_AT_ONCE = 8

Advance = Callable[[int], None]  # gets the number of bytes that were dealt with since the last call


@dataclass(frozen=True, slots=True, config=ConfigDict(extra="forbid"))
class Entry:
    """One file. path: in the package. sha256, size_bytes: of its bytes. modified_ns: when it was
    last modified, in nanoseconds since 1970. (Not a Value: there are many, and these are small.)
    """

    path: str
    sha256: Sha256
    size_bytes: Size
    modified_ns: int = Field(0, ge=0, lt=1 << 62)


class Contents(Value):
    """What contents.json says.

    kind: a backup holds all jobs and the home's own files, an export chosen jobs. written_at:
    with zone. by: who wrote it. faults: what was not as it should be in the source, a line each.
    files: in the order of the package.
    """

    format: Literal["seamnote-package"] = "seamnote-package"
    version: Literal[1] = 1
    kind: Literal["backup", "export"]
    written_at: AwareDatetime
    by: Actor
    faults: tuple[str, ...] = ()
    files: tuple[Entry, ...] = ()


class Package:
    """An open package whose names and sizes are those of its contents. See ``opened``.

    contents: of the package. All methods raise BadPackage.
    """

    def __init__(self, path: Path, archive: zipfile.ZipFile) -> None:
        self.path = path
        self._archive = archive
        names = _sound_names(path, archive)
        self.contents = _contents(path, archive)
        _compare(path, self.contents, names)
        self._entries = {entry.path: entry for entry in self.contents.files}
        self._by_job: dict[str, list[Entry]] = {}
        for entry in self.contents.files:
            top, name, *_ = entry.path.split("/")
            if top == "jobs":
                self._by_job.setdefault(name, []).append(entry)

    @property
    def jobs(self) -> tuple[str, ...]:
        """The ids of its jobs, sorted."""
        return tuple(sorted(self._by_job))

    @property
    def size_bytes(self) -> int:
        """Of all files together, unpacked."""
        return sum(entry.size_bytes for entry in self.contents.files)

    def files_of(self, job_id: str) -> tuple[Entry, ...]:
        return tuple(self._by_job.get(job_id, ()))

    def of_the_home(self) -> tuple[Entry, ...]:
        """The home's own files; each path begins with 'home/'."""
        return tuple(entry for entry in self.contents.files if entry.path.startswith("home/"))

    def holds(self, path: str) -> bool:
        return path in self._entries

    def read(self, path: str) -> bytes:
        """The bytes of one file that fits into memory."""
        entry = self._entries.get(path)
        if entry is None or entry.size_bytes > MOST_READ_BYTES:
            raise BadPackage(path=self.path, detail=f"it has no usable {path}")
        return b"".join(self._checked(entry))

    def check(self, advance: Advance) -> None:
        """Read every file and hold it against its size and SHA-256."""
        for entry in self.contents.files:
            for chunk in self._checked(entry):
                advance(len(chunk))

    def unpack(self, job_id: str, folder: Path, advance: Advance) -> None:
        """Write the files of a job into a folder that no other process sees yet, such as one of
        ``arriving``; each has reached the disk with its time of modification. Raises as ``copy``.
        """
        start = f"jobs/{job_id}/"
        files = []
        for entry in self.files_of(job_id):
            target = folder / entry.path.removeprefix(start)
            target.parent.mkdir(parents=True, exist_ok=True)
            self._write(entry, target, advance)
            files.append(target)
        with ThreadPoolExecutor(SYNCS_AT_ONCE) as pool:
            list(pool.map(_sync, files))
            list(pool.map(atomic.sync_folder, (folder, *_folders_under(folder))))

    def copy(self, entry: Entry, target: Path, advance: Advance, mode: int = 0o666) -> None:
        """Write one file to a path where none is. Raises OSError for the place, also where there
        is one.
        """
        self._write(entry, target, advance, mode)
        _sync(target)

    def _write(self, entry: Entry, target: Path, advance: Advance, mode: int = 0o666) -> None:
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(target, flags, mode), "wb") as file:
            for chunk in self._checked(entry):
                file.write(chunk)
                advance(len(chunk))
        os.utime(target, ns=(entry.modified_ns, entry.modified_ns))

    def _checked(self, entry: Entry) -> Iterator[bytes]:
        """The bytes of a file; BadPackage at the end, or before, when they are not its own."""
        digest = hashlib.sha256()
        size_bytes = 0
        with _translated(self.path), self._archive.open(entry.path) as file:
            while chunk := file.read(CHUNK_BYTES):
                size_bytes += len(chunk)
                digest.update(chunk)
                yield chunk
        if size_bytes != entry.size_bytes or digest.hexdigest() != entry.sha256:
            raise BadPackage(path=self.path, detail=f"{entry.path} is not the file of its contents")


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _folders_under(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_dir()]


@contextlib.contextmanager
def opened(path: Path) -> Iterator[Package]:
    """Open a package to read; its names and sizes are checked, its digests with each reading.

    Raises FileMissing, InputRefused, BadPackage.
    """
    with contextlib.ExitStack() as stack:
        file = stack.enter_context(_regular(path))
        with _translated(path):
            _check_end(path, file)
            archive = stack.enter_context(zipfile.ZipFile(file))
            package = Package(path, archive)
        yield package


def _regular(path: Path) -> BinaryIO:
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe would never end
            raise InputRefused(path=path, detail="not a regular file")
        return path.open("rb")
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except (OSError, ValueError) as error:
        raise InputRefused(path=path, detail=cause(error)) from error


@contextlib.contextmanager
def _translated(path: Path) -> Iterator[None]:
    """All that zipfile lets out when what it reads is no sound ZIP file."""
    try:
        yield
    except (zipfile.BadZipFile, zlib.error, struct.error, EOFError, RuntimeError, LookupError,
            ValueError, ArithmeticError, OSError, MemoryError) as error:  # fmt: skip
        raise BadPackage(path=path, detail=cause(error) or type(error).__name__) from error


# https://pkware.cachefly.net/webdocs/casestudies/APPNOTE.TXT, 4.3.14 to 4.3.16
_END = struct.Struct("<4s4H2LH")
_LOCATOR = struct.Struct("<4sLQL")
_END_64 = struct.Struct("<4sQ2H2L4Q")


def _check_end(path: Path, file: BinaryIO) -> None:
    """The file ends as a whole ZIP file does, with a directory that fits into memory."""
    tail_bytes = _END_64.size + _LOCATOR.size + _END.size
    file.seek(max(0, file.seek(0, os.SEEK_END) - tail_bytes))
    tail = file.read()
    if tail[-_END.size :][:4] != b"PK\5\6":
        raise BadPackage(path=path, detail="its end is missing, or it is no ZIP file")
    directory_bytes = _END.unpack(tail[-_END.size :])[5]
    if tail[-_END.size - _LOCATOR.size :][:4] == b"PK\6\7":
        directory_bytes = _END_64.unpack(tail[: _END_64.size])[8]
    if directory_bytes > MOST_DIRECTORY_BYTES:
        raise BadPackage(path=path, detail="it lists more files than any home has")


def _sound_names(path: Path, archive: zipfile.ZipFile) -> dict[str, int]:
    """The size of each file but the contents, by its name. Raises BadPackage for any that could
    not stand in a package.
    """
    names, sizes = Names(), {}
    for info in archive.infolist():
        name = info.filename
        fault = "" if name == CONTENTS else fault_in(name)
        if not fault and (info.orig_filename != name or not _is_plain(info)):
            fault = "it is a link, encrypted, or packed in a way that is not used here"
        fault = fault or names.take(name)
        if fault:
            raise BadPackage(path=path, detail=f"it holds {name[:80]!r}: {fault}")
        sizes[name] = info.file_size
    if sum(info.compress_size for info in archive.infolist()) > path.stat().st_size:
        raise BadPackage(path=path, detail="its files lie over one another")
    if sizes.pop(CONTENTS, None) is None:
        raise BadPackage(path=path, detail=f"it has no {CONTENTS}")
    return sizes


def _is_plain(info: zipfile.ZipInfo) -> bool:
    kind = stat.S_IFMT(info.external_attr >> 16)
    packed = info.compress_type in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
    return packed and not info.flag_bits & 1 and kind in (0, stat.S_IFREG)


def _contents(path: Path, archive: zipfile.ZipFile) -> Contents:
    info = archive.getinfo(CONTENTS)
    if info.file_size > CHUNK_BYTES + CONTENTS_BYTES_PER_FILE * len(archive.infolist()):
        raise BadPackage(path=path, detail=f"its {CONTENTS} is larger than any can be")
    content = archive.read(info)
    try:
        return Contents.model_validate_json(content)
    except ValidationError as error:
        with contextlib.suppress(ValidationError):
            if _Version.model_validate_json(content).version > VERSION:
                detail = "it was written by a newer Seamnote; update this one"
                raise BadPackage(path=path, detail=detail) from error
        raise BadPackage(path=path, detail=f"its {CONTENTS} is not one of ours") from error


class _Version(BaseModel):
    """Of a package of any version."""

    format: Literal["seamnote-package"]
    version: int


def _compare(path: Path, contents: Contents, sizes: dict[str, int]) -> None:
    told = {entry.path: entry.size_bytes for entry in contents.files}
    if len(told) != len(contents.files):
        raise BadPackage(path=path, detail=f"its {CONTENTS} names a file twice")
    wrong = sorted(name for name, _ in told.items() ^ sizes.items())
    if wrong:
        detail = f"{wrong[0][:80]!r} is not in it as its {CONTENTS} says"
        raise BadPackage(path=path, detail=detail)
