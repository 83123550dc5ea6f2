"""Write a package: beside its place, read back whole, and only then under its name."""

from __future__ import annotations

import hashlib
import os
import stat
import time
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO, Literal

from recorder.archive.disk.home import cause
from recorder.archive.sharing.package import CHUNK_BYTES, Advance, opened
from recorder.archive.sharing.package_contents import FILE_NAME, Contents, Entry
from recorder.archive.sharing.package_names import Names, fault_in
from recorder.archive.sharing.placing import placed
from recorder.model.event import Actor

# Text; all else that lies in a home is packed already (sound, pictures, PDF, keys).
DEFLATED = {
    "", ".json", ".jsonl", ".toml", ".txt", ".svg", ".html", ".css", ".po", ".pot", ".pem", ".csv",
    ".before",
}  # fmt: skip
_EARLIEST, _LATEST = (1980, 1, 1, 0, 0, 0), (2107, 12, 31, 23, 59, 58)  # that a ZIP file can tell


@dataclass(frozen=True)
class Written:
    """A package on the disk. size_bytes, sha256: of its file. contents: of it."""

    path: Path
    size_bytes: int
    sha256: str
    contents: Contents


class Packer:
    """Takes files into a package that is being written.

    faults: a line for each file that could not be taken in as it is, and what callers tell.
    """

    def __init__(self, archive: zipfile.ZipFile, advance: Advance) -> None:
        self.faults: list[str] = []
        self.entries: list[Entry] = []
        self._archive = archive
        self._advance = advance
        self._names = Names()

    def add(self, source: Path, path: str, growing: bool = False) -> Entry | None:
        """Take one file in under ``path``; what became of it, or None when it is left out.

        A file that changes or ends while it is read is taken in as it was read, with a fault.
        growing: one that others may be appending to; what it gains meanwhile stays out.
        """
        fault = fault_in(path) or self._names.take(path)
        if fault:
            self.tell(f"{source} is not in the package: {fault}")
            return None
        try:
            found = source.stat()
            if not stat.S_ISREG(found.st_mode):
                raise OSError(None, "it is not a regular file")
            file = source.open("rb")
        except OSError as error:
            self.tell(f"{source} is not in the package: {cause(error)}")
            return None
        with file:
            entry, fault = self._copy(file, path, found, growing)
        if fault:
            self.tell(f"{source} {fault}")
        self.entries.append(entry)
        return entry

    def tell(self, fault: str) -> None:
        """Add a line to the faults; it may name a file whose name is not UTF-8."""
        self.faults.append(" ".join(fault.encode("utf-8", "replace").decode().split()))

    def _copy(
        self, file: BinaryIO, path: str, found: os.stat_result, growing: bool
    ) -> tuple[Entry, str]:
        """The entry of an open file, and what went wrong with reading it."""
        digest, size_bytes, fault = hashlib.sha256(), 0, ""
        with self._archive.open(_header(path, found), "w") as packed:
            while size_bytes < found.st_size:  # what grows meanwhile is told below
                try:
                    chunk = file.read(min(CHUNK_BYTES, found.st_size - size_bytes))
                except OSError as error:
                    chunk, fault = b"", f"could be read in part only: {cause(error)}"
                if not chunk:
                    break
                packed.write(chunk)
                digest.update(chunk)
                size_bytes += len(chunk)
                self._advance(len(chunk))
        now = os.fstat(file.fileno())
        changed = (now.st_size, now.st_mtime_ns) != (found.st_size, found.st_mtime_ns)
        grown = growing and size_bytes == found.st_size <= now.st_size
        if changed and not grown and not fault:
            fault = "was changed while it was read"
        entry = Entry(
            path=path, sha256=digest.hexdigest(), size_bytes=size_bytes,
            modified_ns=max(0, found.st_mtime_ns),
        )  # fmt: skip
        return entry, fault


def write(
    target: Path, fill: Callable[[Packer], object], *, kind: Literal["backup", "export"], by: Actor,
    at: datetime, replace: bool, advance: Advance,
) -> Written:  # fmt: skip
    """Write a package that ``fill`` puts files into; on return it was read back and compared.

    advance: told of every byte twice, as it is written and as it is read back. Raises
    OutputExists unless ``replace``, OutputUnwritable, Busy, and BadPackage when what was written
    does not come back; then no file is there, or the old one.
    """
    with placed(target, replace) as temporary:
        with temporary.open("w+b") as file:
            _write(file, fill, kind, by, at, advance)
        with opened(temporary) as package:
            package.check(advance)
            contents = package.contents
        size_bytes, sha256 = _digest(temporary)
    return Written(target, size_bytes, sha256, contents)


def _write(
    file: BinaryIO, fill: Callable[[Packer], object], kind: Literal["backup", "export"], by: Actor,
    at: datetime, advance: Advance,
) -> None:  # fmt: skip
    with zipfile.ZipFile(file, "w") as archive:
        packer = Packer(archive, advance)
        fill(packer)
        contents = Contents(
            kind=kind, written_at=at, by=by, faults=tuple(packer.faults),
            files=tuple(packer.entries),
        )  # fmt: skip
        content = contents.model_dump_json(indent=1).encode() + b"\n"
        archive.writestr(_header_of_text(FILE_NAME, len(content), at.timestamp()), content)
    file.flush()
    os.fsync(file.fileno())
    if hasattr(os, "posix_fadvise"):  # so that it is read back from the disk, not from memory
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _header(path: str, found: os.stat_result) -> zipfile.ZipInfo:
    info = _header_of_text(path, found.st_size, found.st_mtime)
    if Path(path).suffix.lower() not in DEFLATED:
        info.compress_type = zipfile.ZIP_STORED
    return info


def _header_of_text(path: str, size_bytes: int, modified_s: float) -> zipfile.ZipInfo:
    """size_bytes: expected; from it the ZIP file knows whether its large form is needed."""
    local = time.localtime(modified_s)[:6]
    info = zipfile.ZipInfo(path, max(_EARLIEST, min(local, _LATEST)))
    info.compress_type = zipfile.ZIP_DEFLATED
    info.create_system = 3  # so that the next line is understood as a mode
    info.external_attr = (stat.S_IFREG | 0o600) << 16
    info.file_size = size_bytes
    return info


def _digest(path: Path) -> tuple[int, str]:
    with path.open("rb") as file:
        return os.fstat(file.fileno()).st_size, hashlib.file_digest(file, "sha256").hexdigest()
