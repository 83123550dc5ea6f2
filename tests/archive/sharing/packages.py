"""Packages as nobody of ours writes them."""

from __future__ import annotations

import hashlib
import json
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

Files = list[tuple[str, bytes]]

RECORD = "jobs/20261125-204530-3f9a/job.json"
GOOD: Files = [(RECORD, b"{}\n" * 40), ("jobs/20261125-204530-3f9a/media/a.flac", b"sound")]


def told(packed: Files, **changes: Any) -> bytes:
    """The contents.json that fits; ``changes`` to its values."""
    values: dict[str, Any] = {
        "format": "seamnote-package",
        "version": 1,
        "kind": "backup",
        "written_at": "2026-11-25T21:00:00+01:00",
        "by": {"person": "J. Meier", "device": "van 2", "program": "Seamnote 0.1.0"},
        "files": [entry(name, content) for name, content in packed],
    }
    return json.dumps(values | changes).encode()


def entry(name: str, content: bytes) -> dict[str, Any]:
    digest = hashlib.sha256(content).hexdigest()
    return {"path": name, "sha256": digest, "size_bytes": len(content), "modified_ns": 10**18}


def craft(
    path: Path,
    files: Files = GOOD,
    contents: bytes | None = None,
    change: Callable[[zipfile.ZipInfo], None] = lambda info: None,
) -> Path:
    """Write a ZIP file with these names and its contents.json last; ``change`` any header."""
    with zipfile.ZipFile(path, "w") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a name twice is what some tests want
        for name, content in [*files, ("contents.json", contents or told(files))]:
            info = zipfile.ZipInfo(name)
            info.compress_type = zipfile.ZIP_DEFLATED
            change(info)
            archive.writestr(info, content)
    return path
