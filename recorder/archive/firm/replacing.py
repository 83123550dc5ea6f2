"""A list of the firm's takes the place of the one before, which stays beside it."""

from __future__ import annotations

from pathlib import Path

from recorder.archive.disk import atomic


def replace(target: Path, content: bytes) -> None:
    """Under the lock of ``target``. What it held is then in ``<name>.before``. OutputUnwritable."""
    atomic.sweep(target)
    contents = {target: content}
    if target.exists():
        contents = {target.with_name(f"{target.name}.before"): target.read_bytes(), **contents}
    atomic.write_all(contents)
