"""A second MediaStore, in memory, as a company's object store would be: no folder, no names."""

from __future__ import annotations

import contextlib
import hashlib
import re
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from recorder.archive.jobs import originals
from recorder.errors import BadJobFolder, FileMissing
from recorder.model.job import MediaFile, MediaKind

_PATH = re.compile(r'media/(?!SHA256SUMS$)[^./\\:\0"][^/\\:\0"]*')


class MemoryMedia:
    def __init__(self) -> None:
        self._held: dict[str, bytes] = {}

    def keep(self, files: Sequence[Path], kinds: Sequence[MediaKind]) -> tuple[MediaFile, ...]:
        fresh: dict[str, bytes] = {}
        told = []
        for file, kind in zip(files, kinds, strict=True):
            content, sha256 = _read(file)
            name = originals.shown_name(file)
            path = f"media/{sha256}_{originals.tame(name)}"
            fresh[path] = content
            told.append(
                MediaFile(name=name, path=path, kind=kind, sha256=sha256, size_bytes=len(content))
            )
        self._held |= fresh
        return tuple(dict.fromkeys(told))

    def put_back(self, source: Path, media: MediaFile) -> bool:
        path = _checked(media.path)
        content, sha256 = _read(source)
        if sha256 != media.sha256:
            return False
        self._held[path] = content
        return True

    @contextlib.contextmanager
    def local(self, path: str) -> Iterator[Path]:
        if not self.holds(path):
            raise FileMissing(path=path)
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / Path(path).name
            file.write_bytes(self._held[path])
            yield file

    def digest(self, path: str) -> str:
        with self.local(path) as file:
            return hashlib.sha256(file.read_bytes()).hexdigest()

    def holds(self, path: str) -> bool:
        return _checked(path) in self._held

    def paths(self) -> tuple[str, ...]:
        return tuple(sorted(self._held))

    def remove(self, paths: Iterable[str]) -> None:
        for path in [_checked(path) for path in paths]:
            self._held.pop(path, None)


def _read(file: Path) -> tuple[bytes, str]:
    sha256 = originals.sha256_of(file)
    return file.read_bytes(), sha256


def _checked(path: str) -> str:
    if not _PATH.fullmatch(path):
        raise BadJobFolder(path=Path("memory"), detail=f"{path!r} is no place of an original")
    return path
