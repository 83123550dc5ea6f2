"""Keep untouched copies of the user's files under names that tell their content."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import stat
import unicodedata
from collections.abc import Iterator
from pathlib import Path

from recorder.archive.disk.home import cause
from recorder.errors import FileMissing, InputRefused
from recorder.model.job import MediaFile, MediaKind

CHUNK_BYTES = 1 << 20
PREFIX_DIGITS = 12
ARRIVING = ".arriving"
LONGEST_NAME_BYTES = 120  # file systems take 255; this leaves room for the prefix and for archives


def keep(source: Path, kind: MediaKind, job_folder: Path) -> MediaFile:
    """Copy ``source`` into ``media/`` of the job folder, with its time of modification.

    The name is the start of the SHA-256 and the tamed name of the source, so the same file kept
    twice is one file. Raises FileMissing or InputRefused for the source, and OSError for the
    folder (its owner knows what that means).
    """
    media = job_folder / "media"
    arriving = media / ARRIVING
    sha256, size_bytes = copy(source, arriving)
    name = shown_name(source)
    kept = media / f"{sha256[:PREFIX_DIGITS]}_{tame(name)}"
    if kept.exists() and sha256_of(kept) != sha256:
        kept = media / f"{sha256}_{tame(name)}"
    arriving.replace(kept)
    return MediaFile(
        name=name,
        path=kept.relative_to(job_folder).as_posix(),
        kind=kind,
        sha256=sha256,
        size_bytes=size_bytes,
    )


def put_back(source: Path, media: MediaFile, target: Path) -> bool:
    """Copy ``source`` to ``target`` if its bytes are those of ``media``; whether they were.

    Raises as ``keep``.
    """
    arriving = target.with_name(ARRIVING)
    sha256, _ = copy(source, arriving)
    if sha256 != media.sha256:
        arriving.unlink()
        return False
    arriving.replace(target)
    return True


def copy(source: Path, target: Path) -> tuple[str, int]:
    """SHA-256 and size of what was copied, which has reached the disk with its own time.

    Raises FileMissing or InputRefused for the source, and OSError for the target (its owner knows
    what that means).
    """
    digest, size_bytes = hashlib.sha256(), 0
    modified_ns = _stat(source).st_mtime_ns
    with target.open("wb") as file:
        for chunk in _chunks(source):
            digest.update(chunk)
            size_bytes += len(chunk)
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())
    os.utime(target, ns=(modified_ns, modified_ns))
    return digest.hexdigest(), size_bytes


def sha256_of(source: Path) -> str:
    """SHA-256 of a file's bytes, in hexadecimal. Raises FileMissing or InputRefused."""
    digest = hashlib.sha256()
    for chunk in _chunks(source):
        digest.update(chunk)
    return digest.hexdigest()


def digest_over(hashes: set[str]) -> str:
    """One SHA-256 that stands for a set of files, whatever their names and order."""
    return hashlib.sha256("\n".join(sorted(hashes)).encode()).hexdigest()


def shown_name(source: Path) -> str:
    """The file's name as text that every JSON reader takes, also when its bytes are not UTF-8."""
    return os.fsencode(source.name).decode("utf-8", "replace")


def tame(name: str) -> str:
    """A file name that every file system takes: letters, digits, dot, dash and underscore."""
    plain = re.sub(r"[^\w.-]+", "_", unicodedata.normalize("NFC", name))
    stem, dot, suffix = plain.rpartition(".")
    if not stem or len(suffix.encode()) > 10:
        stem, dot, suffix = plain, "", ""
    room_bytes = LONGEST_NAME_BYTES - len(suffix.encode())
    short = stem.encode()[:room_bytes].decode("utf-8", "ignore")
    return f"{short}{dot}{suffix}".rstrip(".") or "_"


def _stat(source: Path) -> os.stat_result:
    with _refusing(source):
        found = source.stat()
    if not stat.S_ISREG(found.st_mode):  # a pipe would never end
        raise InputRefused(path=source, detail="not a regular file")
    return found


def _chunks(source: Path) -> Iterator[bytes]:
    _stat(source)
    with _refusing(source), source.open("rb") as file:
        while chunk := file.read(CHUNK_BYTES):
            yield chunk


@contextlib.contextmanager
def _refusing(source: Path) -> Iterator[None]:
    try:
        yield
    except FileNotFoundError as error:
        raise FileMissing(path=source) from error
    except (OSError, ValueError) as error:
        raise InputRefused(path=source, detail=cause(error)) from error
