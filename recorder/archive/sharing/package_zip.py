"""A ZIP file from anybody: whether it is whole, and holds plain files of sound names alone."""

from __future__ import annotations

import contextlib
import os
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from recorder.archive.disk.home import cause
from recorder.archive.sharing.package_names import Names, fault_in
from recorder.errors import BadPackage, FileMissing, InputRefused

# A home of 100,000 jobs has some 700,000 files, of which each takes about 150 bytes in the
# directory at the end of the ZIP file. Beyond this it is no home.
MOST_DIRECTORY_BYTES = 1 << 28

# https://pkware.cachefly.net/webdocs/casestudies/APPNOTE.TXT, 4.3.14 to 4.3.16
_END = struct.Struct("<4s4H2LH")
_LOCATOR = struct.Struct("<4sLQL")
_END_64 = struct.Struct("<4sQ2H2L4Q")


def regular(path: Path) -> BinaryIO:
    """Open a file that is one. Raises FileMissing, InputRefused."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # a pipe would never end
            raise InputRefused(path=path, detail="not a regular file")
        return path.open("rb")
    except FileNotFoundError as error:
        raise FileMissing(path=path) from error
    except (OSError, ValueError) as error:
        raise InputRefused(path=path, detail=cause(error)) from error


@contextlib.contextmanager
def translated(path: Path) -> Iterator[None]:
    """BadPackage for all that zipfile lets out when what it reads is no sound ZIP file."""
    try:
        yield
    except (zipfile.BadZipFile, zlib.error, struct.error, EOFError, RuntimeError, LookupError,
            ValueError, ArithmeticError, OSError, MemoryError) as error:  # fmt: skip
        raise BadPackage(path=path, detail=cause(error) or type(error).__name__) from error


def check_end(path: Path, file: BinaryIO) -> None:
    """BadPackage unless it ends as a whole ZIP file does, and its directory fits into memory."""
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


def sound_sizes(path: Path, archive: zipfile.ZipFile, contents: str) -> dict[str, int]:
    """The size of each file but the one called ``contents``, by its name. Raises BadPackage for
    any that could not stand in a package.
    """
    names, sizes = Names(), {}
    for info in archive.infolist():
        name = info.filename
        fault = "" if name == contents else fault_in(name)
        if not fault and (info.orig_filename != name or not _is_plain(info)):
            fault = "it is a link, encrypted, or packed in a way that is not used here"
        fault = fault or names.take(name)
        if fault:
            raise BadPackage(path=path, detail=f"it holds {name[:80]!r}: {fault}")
        sizes[name] = info.file_size
    if sum(info.compress_size for info in archive.infolist()) > path.stat().st_size:
        raise BadPackage(path=path, detail="its files lie over one another")
    if sizes.pop(contents, None) is None:
        raise BadPackage(path=path, detail=f"it has no {contents}")
    return sizes


def _is_plain(info: zipfile.ZipInfo) -> bool:
    kind = stat.S_IFMT(info.external_attr >> 16)
    packed = info.compress_type in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
    return packed and not info.flag_bits & 1 and kind in (0, stat.S_IFREG)
