"""The store of a job's originals: what it must do, and the one that is a folder.

::

    jobs/<id>/media/1f0c6a2e9b7d_narration.flac   the name begins with the SHA-256 of the content
    jobs/<id>/media/SHA256SUMS                    what is there, for 'sha256sum -c'

A file is addressed by ``MediaFile.path``, as the record has it. A file appears whole or not at
all, and the manifest is written after the files that arrive and before those that go.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Protocol

from recorder.archive.disk import atomic
from recorder.archive.disk.home import cause
from recorder.archive.jobs import originals
from recorder.errors import BadJobFolder, FileMissing, OutputUnwritable
from recorder.model.job import Job, MediaFile, MediaKind

FOLDER = "media"
SUMS = "SHA256SUMS"
ARRIVING = ".arriving"
PREFIX_DIGITS = 12

# A line of GNU coreutils' sha256sum: the name is escaped where the line begins with a backslash.
_LINE = re.compile(r"(\\?)([0-9a-f]{64}) [ *](.+)", re.DOTALL)
_ESCAPES = {"\\": "\\\\", "\n": "\\n", "\r": "\\r"}


class MediaStore(Protocol):
    """The originals of one job. ``path`` is that of the record, e.g. 'media/1f0c6a2e9b7d_a.flac'.

    Every method raises BadJobFolder for a path that no original can have, and OutputUnwritable
    where the store cannot be written.
    """

    def keep(self, files: Sequence[Path], kinds: Sequence[MediaKind]) -> tuple[MediaFile, ...]:
        """Copy files of the system into the store, all or none; what the record says of them.

        The same content under the same name is kept once. Raises FileMissing, InputRefused.
        """

    def put_back(self, source: Path, media: MediaFile) -> bool:
        """Copy ``source`` to the place of ``media`` if its bytes are those; whether they were.

        Raises FileMissing, InputRefused.
        """

    def local(self, path: str) -> AbstractContextManager[Path]:
        """Inside, a file of the system with the bytes, only to be read. Raises FileMissing."""

    def digest(self, path: str) -> str:
        """SHA-256 of the bytes that are there. Raises FileMissing, InputRefused."""

    def holds(self, path: str) -> bool:
        """Whether there is such a file."""

    def paths(self) -> tuple[str, ...]:
        """Of all that is there, in order."""

    def remove(self, paths: Iterable[str]) -> None:
        """Delete files for good; those that are not there are passed over."""


class MediaFolder:
    """A MediaStore in the folder ``media`` of a job folder. For one writer at a time."""

    def __init__(self, job_folder: Path) -> None:
        self._job = job_folder
        self._media = job_folder / FOLDER

    def keep(self, files: Sequence[Path], kinds: Sequence[MediaKind]) -> tuple[MediaFile, ...]:
        there = set(self.paths())
        kept: dict[MediaFile, None] = {}
        with self._writing():
            try:
                for file, kind in zip(files, kinds, strict=True):
                    kept[self._keep(file, kind)] = None
                self._list({self._place(media.path).name: media.sha256 for media in kept})
            except BaseException:
                for path in {media.path for media in kept} - there:
                    self._place(path).unlink(missing_ok=True)
                raise
        return tuple(kept)

    def put_back(self, source: Path, media: MediaFile) -> bool:
        place = self._place(media.path)
        with self._writing() as arriving:
            sha256, _ = originals.copy(source, arriving)
            if sha256 != media.sha256:
                return False
            arriving.replace(place)
            self._list({place.name: sha256})
        return True

    @contextlib.contextmanager
    def local(self, path: str) -> Iterator[Path]:
        place = self._place(path)
        if not place.is_file():
            raise FileMissing(path=place)
        yield place

    def digest(self, path: str) -> str:
        return originals.sha256_of(self._place(path))

    def holds(self, path: str) -> bool:
        return self._place(path).is_file()

    def paths(self) -> tuple[str, ...]:
        return tuple(f"{FOLDER}/{name}" for name in self._names())

    def remove(self, paths: Iterable[str]) -> None:
        places = [self._place(path) for path in paths]
        if not self._media.is_dir():
            return
        with self._writing():
            self._list({}, gone={place.name for place in places})
            for place in places:
                place.unlink(missing_ok=True)
            atomic.sync_folder(self._media)

    def _keep(self, file: Path, kind: MediaKind) -> MediaFile:
        arriving = self._media / ARRIVING
        sha256, size_bytes = originals.copy(file, arriving)
        name = originals.shown_name(file)
        place = self._media / f"{sha256[:PREFIX_DIGITS]}_{originals.tame(name)}"
        if place.exists() and originals.sha256_of(place) != sha256:
            place = self._media / f"{sha256}_{originals.tame(name)}"
        arriving.replace(place)
        path = f"{FOLDER}/{place.name}"
        return MediaFile(name=name, path=path, kind=kind, sha256=sha256, size_bytes=size_bytes)

    def _place(self, path: str) -> Path:
        """Where a path of the record leads. What lies there is a file of our own or nothing."""
        folder, slash, name = path.partition("/")
        plain = name and not set('/\\:\0"') & set(name) and name[0] != "." and name != SUMS
        if folder != FOLDER or not slash or not plain:
            raise BadJobFolder(path=self._job, detail=f"{path!r} is no place of an original")
        place = self._media / name
        if self._media.is_symlink() or place.is_symlink():
            raise BadJobFolder(path=self._job, detail=f"{path!r} leads out of the folder")
        return place

    def _names(self) -> list[str]:
        if not self._media.is_dir():
            return []
        return sorted(
            entry.name
            for entry in self._media.iterdir()
            if entry.name[0] != "." and entry.name != SUMS and entry.is_file()
        )

    @contextlib.contextmanager
    def _writing(self) -> Iterator[Path]:
        """Where a copy can arrive. What a killed writer left there goes: it may be a voice."""
        arriving = self._media / ARRIVING
        try:
            self._media.mkdir(exist_ok=True)
            try:
                yield arriving
            finally:
                arriving.unlink(missing_ok=True)
        except OSError as error:
            raise OutputUnwritable(path=self._media, detail=cause(error)) from error

    def _list(self, arrived: Mapping[str, str], gone: Iterable[str] = ()) -> None:
        """Write the manifest of what is there, without the names that are about to go.

        arrived: SHA-256 by name. What no manifest had, as in a folder of an older program, is
        read; if its bytes are not those that its name tells, there is no digest to vouch for.
        """
        known = {**read_sums(self._media), **arrived}
        digests: dict[str, str] = {}
        for name in sorted(set(self._names()) - set(gone)):
            digest = known.get(name) or originals.sha256_of(self._media / name)
            if name in known or name.startswith(digest[:PREFIX_DIGITS]):
                digests[name] = digest
        path = self._media / SUMS
        if digests:
            atomic.sweep(path)
            atomic.write(path, dump_sums(digests))
        else:  # sha256sum takes an empty list for a broken one
            path.unlink(missing_ok=True)


def dump_sums(digests: Mapping[str, str]) -> bytes:
    """SHA-256 by file name as the lines that ``sha256sum`` of GNU coreutils prints and checks."""
    lines = []
    for name, digest in digests.items():
        escaped = "".join(_ESCAPES.get(char, char) for char in name)
        lines.append(f"{'' if escaped == name else chr(92)}{digest}  {escaped}\n")
    return "".join(lines).encode("utf-8", "surrogateescape")


def read_sums(media: Path) -> dict[str, str]:
    """SHA-256 by file name, of the manifest in a folder; lines that are none are passed over."""
    try:
        text = (media / SUMS).read_bytes().decode("utf-8", "surrogateescape")
    except FileNotFoundError:
        return {}
    found = (_LINE.fullmatch(line) for line in text.split("\n"))
    return {_unescaped(m[3]) if m[1] else m[3]: m[2] for m in found if m}


def _unescaped(name: str) -> str:
    back = {escape[1]: char for char, escape in _ESCAPES.items()}
    return re.sub(r"\\(.)", lambda match: back.get(match[1], match[0]), name)


def faults(job_folder: Path, job: Job) -> tuple[str, ...]:
    """One line for each way in which the manifest is not the record's; none without a manifest,
    which only folders of this program's later versions have.
    """
    sums = job_folder / FOLDER / SUMS
    try:
        listed = read_sums(sums.parent)
    except OSError as error:
        return (f"{sums} cannot be read ({cause(error)})",)
    if not sums.exists():
        return ()
    recorded = {media.path: media for media in job.media}
    told = []
    for name, digest in listed.items():
        media = recorded.pop(f"{FOLDER}/{name}", None)
        if media is None or media.sha256 != digest:
            told.append(f"{sums} has {name} otherwise than job.json")
    for path, media in recorded.items():
        if not media.removed and (job_folder / path).is_file():
            told.append(f"{sums} lacks {Path(path).name}")
    return tuple(told)
