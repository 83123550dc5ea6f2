"""One original file: its bytes copied untouched, its digest, and a name that is safe to keep."""

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

CHUNK_BYTES = 1 << 20
LONGEST_NAME_BYTES = 120  # file systems take 255; this leaves room for the prefix and for archives


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
