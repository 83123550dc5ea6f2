"""contents.json of a package: who wrote it when, and every file with its digest."""

from __future__ import annotations

import contextlib
import zipfile
from pathlib import Path
from typing import Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError
from pydantic.dataclasses import dataclass

from recorder.errors import BadPackage
from recorder.model.base import Value
from recorder.model.digests import Sha256, Size
from recorder.model.event import Actor

FILE_NAME = "contents.json"
VERSION = 1
# An entry has about 250 bytes, and so has a fault, of which a home of empty folders has many.
MOST_BYTES, MOST_BYTES_PER_FILE = 1 << 24, 4096


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


def contents_of(path: Path, archive: zipfile.ZipFile, sizes: dict[str, int]) -> Contents:
    """What contents.json says, which must be of the files that are there.

    path: of the package. sizes: of its other files, by name. Raises BadPackage, and what zipfile
    raises.
    """
    info = archive.getinfo(FILE_NAME)
    if info.file_size > MOST_BYTES + MOST_BYTES_PER_FILE * len(sizes):
        raise BadPackage(path=path, detail=f"its {FILE_NAME} is larger than any can be")
    content = archive.read(info)
    try:
        contents = Contents.model_validate_json(content)
    except ValidationError as error:
        with contextlib.suppress(ValidationError):
            if _Version.model_validate_json(content).version > VERSION:
                detail = "it was written by a newer Seamnote; update this one"
                raise BadPackage(path=path, detail=detail) from error
        raise BadPackage(path=path, detail=f"its {FILE_NAME} is not one of ours") from error
    _compare(path, contents, sizes)
    return contents


class _Version(BaseModel):
    """Of a package of any version."""

    format: Literal["seamnote-package"]
    version: int


def _compare(path: Path, contents: Contents, sizes: dict[str, int]) -> None:
    told = {entry.path: entry.size_bytes for entry in contents.files}
    if len(told) != len(contents.files):
        raise BadPackage(path=path, detail=f"its {FILE_NAME} names a file twice")
    wrong = sorted(name for name, _ in told.items() ^ sizes.items())
    if wrong:
        detail = f"{wrong[0][:80]!r} is not in it as its {FILE_NAME} says"
        raise BadPackage(path=path, detail=detail)
