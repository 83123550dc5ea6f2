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
import zipfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from recorder.archive.disk import atomic
from recorder.archive.sharing.package_contents import FILE_NAME, Entry, contents_of
from recorder.archive.sharing.package_zip import check_end, regular, sound_sizes, translated
from recorder.errors import BadPackage

CHUNK_BYTES = 1 << 20
MOST_READ_BYTES = 1 << 28  # of a file that is read whole, such as a record

# Asked for at once, files reach the disk together: 2 ms a job where one after another took 40 ms.
SYNCS_AT_ONCE = 8

Advance = Callable[[int], None]  # gets the number of bytes that were dealt with since the last call


class Package:
    """An open package whose names and sizes are those of its contents. See ``opened``.

    contents: of the package. All methods raise BadPackage.
    """

    def __init__(self, path: Path, archive: zipfile.ZipFile) -> None:
        self.path = path
        self._archive = archive
        sizes = sound_sizes(path, archive, FILE_NAME)
        self.contents = contents_of(path, archive, sizes)
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
        with translated(self.path), self._archive.open(entry.path) as file:
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
        file = stack.enter_context(regular(path))
        with translated(path):
            check_end(path, file)
            archive = stack.enter_context(zipfile.ZipFile(file))
            package = Package(path, archive)
        yield package
