"""A list of the firm that a page sends: on the disk under a name of ours while it is read."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.datastructures import FormData, UploadFile

from recorder.errors import BadFirmFile

LARGEST_BYTES = 1024 * 1024
_KINDS = (".toml", ".csv", ".tsv", ".txt")
_ODD = re.compile(r"[^\w. -]+")
_LONGEST_NAME = 60


@contextmanager
def kept(name: str, content: bytes) -> Iterator[Path]:
    """In a folder of its own, gone afterwards. name: of the sender; only its ending counts."""
    with tempfile.TemporaryDirectory(prefix="seamnote-") as place:
        path = Path(place) / f"file{kind_of(name)}"
        path.write_bytes(content)
        yield path


def kind_of(name: str) -> str:
    """'.toml' or that of a table. Raises BadFirmFile for anything else."""
    kind = Path(name).suffix.lower()
    if kind not in _KINDS:
        raise BadFirmFile(path=shown(name), detail="it is no .toml and no .csv, .tsv or .txt file")
    return kind


def shown(name: str) -> str:
    """What the sender calls it, for a message."""
    return _ODD.sub("_", Path(name).name)[-_LONGEST_NAME:] or "the file"


async def file_in(form: FormData, field: str) -> tuple[str, bytes]:
    """Name and content of the file that was sent; ('', b'') where none was."""
    sent = form.get(field)
    if not isinstance(sent, UploadFile) or not sent.filename:
        return "", b""
    return sent.filename, await sent.read(LARGEST_BYTES + 1)
