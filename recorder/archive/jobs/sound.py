"""The sound of one stretch while its job runs: appended, on the disk before it is acknowledged.

::

    jobs/<id>/live/recording_1.pcm     the samples, int16 little-endian, mono
    jobs/<id>/live/recording_1.jsonl   first a Head; then a line for each appending:
        {"next":12,"samples":57600,"crc32":1234567890}

A line vouches for what its appending wrote: chunks up to ``next`` (without it) came in order,
``samples`` are there then, and ``crc32`` is that of the samples since the line before. Whatever
stands behind the last line that fits was never acknowledged; it is cut off when the stretch is
opened again. Damage in the middle is told by ``faults`` and left as it is.
"""

from __future__ import annotations

import contextlib
import json
import os
import threading
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from pydantic import AwareDatetime, Field, ValidationError

from recorder.archive.disk import atomic
from recorder.archive.disk.home import cause
from recorder.errors import BadJobFolder, OutputUnwritable, SoundRefused
from recorder.model.base import Value
from recorder.model.recording import GapReason, Recording

SAMPLE_BYTES = 2
SOUND, LOG = ".pcm", ".jsonl"


class Piece(Protocol):
    """One chunk. number: in its stretch, from 0. first: place of its first sample."""

    @property
    def number(self) -> int: ...
    @property
    def first(self) -> int: ...
    @property
    def samples(self) -> bytes: ...


class Head(Value):
    """name: 32 hex digits, by which the page knows the stretch. The rest as in Recording."""

    name: str = Field(pattern=r"^[0-9a-f]{32}$")
    rate_hz: int = Field(ge=8_000, le=384_000)
    began_at: AwareDatetime
    device: str
    after: GapReason


@dataclass(frozen=True)
class Line:
    """What one appending left. next: number of the chunk wanted after it. samples: in all."""

    next: int
    samples: int
    crc32: int


class Sound:
    """One stretch on the disk. Thread-safe."""

    def __init__(self, path: Path, head: Head, last: Line, log_bytes: int) -> None:
        """path: of the samples. last: the line that vouches for all. log_bytes: up to its end."""
        self.path = path
        self.head = head
        self._last = last
        self._log_bytes = log_bytes
        self._lock = threading.Lock()

    @classmethod
    def create(cls, path: Path, head: Head) -> Sound:
        """A new stretch without sound. Raises OutputUnwritable."""
        content = head.model_dump_json().encode() + b"\n"
        atomic.write(path, b"")
        atomic.write(path.with_suffix(LOG), content)  # last: without it there is no stretch
        return cls(path, head, Line(0, 0, 0), len(content))

    @classmethod
    def open(cls, path: Path) -> Sound:
        """What a process left, cut to what it may have acknowledged.

        Raises BadJobFolder, OutputUnwritable.
        """
        head, last, log_bytes = _vouched(path)
        try:
            for file, size in ((path, last.samples * SAMPLE_BYTES), (_log(path), log_bytes)):
                if file.stat().st_size > size:
                    _cut(file, size)
        except OSError as error:
            raise OutputUnwritable(path=path, detail=cause(error)) from error
        return cls(path, head, last, log_bytes)

    @classmethod
    def look(cls, path: Path) -> Sound:
        """What is there, only to be read; another process may be appending. BadJobFolder."""
        return cls(path, *_vouched(path))

    @property
    def next(self) -> int:
        return self._last.next

    @property
    def samples(self) -> int:
        return self._last.samples

    @property
    def seconds(self) -> float:
        return self._last.samples / self.head.rate_hz

    @property
    def recording(self) -> Recording:
        told = self.head.model_dump(exclude={"name"})
        return Recording(file=f"{self.path.stem}.flac", samples=self.samples, **told)

    def append(self, pieces: Sequence[Piece]) -> bool:
        """Keep what of ``pieces`` is new; on return it is on the disk. False when one came before
        its turn: it and what follows were not taken.

        Raises SoundRefused where numbers and places do not fit, and OutputUnwritable; then none of
        them was taken.
        """
        with self._lock:
            new, number, end = bytearray(), self.next, self.samples
            in_order = True
            for piece in pieces:
                if piece.number < number:
                    continue
                if piece.number > number:
                    in_order = False
                    break
                if piece.first != end or len(piece.samples) % SAMPLE_BYTES:
                    detail = f"chunk {number} does not begin where the one before ends"
                    raise SoundRefused(detail=detail)
                new += piece.samples
                number += 1
                end += len(piece.samples) // SAMPLE_BYTES
            if number > self.next:
                self._write(bytes(new), Line(number, end, zlib.crc32(new)))
            return in_order

    def read(self, first: int, count: int) -> bytes:
        """Up to ``count`` samples from the place ``first``. Raises BadJobFolder."""
        count = max(0, min(count, self.samples - first))
        try:
            with self.path.open("rb") as file:
                file.seek(first * SAMPLE_BYTES)
                return file.read(count * SAMPLE_BYTES)
        except OSError as error:
            raise _unreadable(self.path, cause(error)) from error

    def _write(self, samples: bytes, line: Line) -> None:
        log = json.dumps(vars(line), separators=(",", ":")).encode() + b"\n"
        places = (
            (self.path, self.samples * SAMPLE_BYTES, samples),
            (_log(self.path), self._log_bytes, log),
        )
        try:
            for path, place, content in places:
                _put(path, place, content)
        except OSError as error:
            for path, place, _ in places:  # the next appending would write over it, too
                with contextlib.suppress(OSError):
                    _cut(path, place)
            raise OutputUnwritable(path=self.path, detail=cause(error)) from error
        self._log_bytes += len(log)
        self._last = line


def faults(path: Path) -> tuple[str, ...]:
    """One line for each part of a stretch that is not as it was written. Changes nothing.

    path: of the samples.
    """
    try:
        _, last, _ = _vouched(path)
        lines = [line for line, _ in _lines(path, _log(path).read_bytes())]
        found, before = [], 0
        with path.open("rb") as file:
            for line in lines:
                if line.samples > last.samples:
                    break
                part = file.read((line.samples - before) * SAMPLE_BYTES)
                if zlib.crc32(part) != line.crc32:
                    found.append(f"{path}: samples {before} to {line.samples} are not as recorded")
                before = line.samples
    except BadJobFolder as error:
        return (f"{error.data['path']}: {error.data['detail']}",)
    except OSError as error:
        return (f"{path}: {cause(error)}",)
    return tuple(found)


def _vouched(path: Path) -> tuple[Head, Line, int]:
    """Head, last line that fits the samples, and the size of the log up to its end."""
    try:
        content = _log(path).read_bytes()
        end = content.index(b"\n") + 1
        head = Head.model_validate_json(content[:end])
        size = path.stat().st_size
        last, last_end, before = Line(0, 0, 0), end, 0
        fitting = []
        for line, line_end in _lines(path, content):
            if line.samples * SAMPLE_BYTES > size:
                break
            fitting.append((line, line_end, before))
            before = line.samples
        with path.open("rb") as file:
            for line, line_end, begin in reversed(fitting):
                file.seek(begin * SAMPLE_BYTES)
                if zlib.crc32(file.read((line.samples - begin) * SAMPLE_BYTES)) == line.crc32:
                    last, last_end = line, line_end
                    break
    except (OSError, ValueError, ValidationError) as error:
        detail = cause(error) if isinstance(error, OSError) else "it is no log of a stretch"
        raise _unreadable(_log(path), detail) from error
    return head, last, last_end


def _lines(path: Path, content: bytes) -> Iterator[tuple[Line, int]]:
    """The whole lines behind the head, in order, each with its end; they end where one is none."""
    end = content.index(b"\n") + 1
    before = Line(0, 0, 0)
    while (stop := content.find(b"\n", end)) >= 0:
        line = _line_in(content[end:stop])
        if line is None or line.next <= before.next or line.samples < before.samples:
            return
        end, before = stop + 1, line
        yield line, end


def _line_in(text: bytes) -> Line | None:
    try:
        told = json.loads(text)
        line = Line(**told)
    except (ValueError, TypeError):
        return None
    return line if all(type(part) is int and part >= 0 for part in vars(line).values()) else None


def _put(path: Path, place: int, content: bytes) -> None:
    with path.open("r+b", buffering=0) as file:
        file.seek(place)
        rest = memoryview(content)
        while rest:
            rest = rest[file.write(rest) :]
        os.fsync(file.fileno())


def _cut(path: Path, size: int) -> None:
    with path.open("r+b") as file:
        file.truncate(size)
        os.fsync(file.fileno())


def _log(path: Path) -> Path:
    return path.with_suffix(LOG)


def _unreadable(path: Path, detail: str) -> BadJobFolder:
    return BadJobFolder(path=path, detail=detail)
