"""archive backup, restore and export: past jobs kept in one file, and given away."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    StageLines,
    command,
    home_path,
    open_home,
    print_json,
    warn,
)

if TYPE_CHECKING:
    from recorder.flows.backup import Kept


def add(actions: Commands, shared: argparse.ArgumentParser) -> None:
    backup = command(
        actions, shared, "backup", "write all jobs, settings and keys into one file, and verify it",
        _backup,
    )  # fmt: skip
    backup.add_argument("file", type=Path, metavar="FILE", help="a ZIP file to write")
    backup.add_argument(
        "--check",
        action="store_true",
        help="write nothing: read FILE through and say what is in it",
    )
    backup.add_argument("--without-keys", action="store_true", help="leave out the keys that sign")
    backup.add_argument("--replace", action="store_true", help="FILE may exist and is replaced")
    restore = command(
        actions, shared, "restore", "fill a home without jobs from a backup", _restore
    )
    restore.add_argument("file", type=Path, metavar="FILE", help="what 'archive backup' wrote")


def _backup(arguments: argparse.Namespace) -> int:
    from recorder.archive.disk.home import Home
    from recorder.flows.backup import backup, look

    progress = StageLines()
    if arguments.check:
        found = look(arguments.file, progress)
    else:
        home = Home.open(home_path(arguments), create=False)  # it may be on a read-only disk
        found = backup(
            home, arguments.file, keys=not arguments.without_keys, replace=arguments.replace,
            progress=progress,
        )  # fmt: skip
    progress.close()
    return told(arguments, found, "whole" if arguments.check else "written and verified")


def _restore(arguments: argparse.Namespace) -> int:
    from recorder.flows.backup import restore

    progress = StageLines()
    found = restore(open_home(arguments), arguments.file, progress)
    progress.close()
    if arguments.json:
        print_json(found.model_dump(mode="json"))
    else:
        print(f"{found.jobs} jobs restored, and in the index")
        for name in found.stayed:
            print(f"  {name} was here already and stays as it was")
    for fault in (*found.faults, *found.damaged):
        warn(fault)
    return 4 if found.faults or found.damaged else 0


def told(arguments: argparse.Namespace, found: Kept, state: str) -> int:
    """Print what a package holds; the exit code."""
    if arguments.json:
        print_json(found.model_dump(mode="json"))
    else:
        print(f"{found.path}: {found.kind} of {found.jobs} jobs, {state}")
        sizes = f"{_size(found.unpacked_bytes)}; as a file {_size(found.size_bytes)}"
        print(f"  {found.files} files, {sizes}")
        who = f"{found.by.person} on {found.by.device}"
        print(f"  written at {found.written_at.isoformat()} by {who}")
        print(f"  SHA-256 {found.sha256}")
        if found.keys:
            names = ", ".join(Path(name).name for name in found.keys)
            print(f"  keys in it, encrypted by their passphrase as they are here: {names}")
        for remark in found.remarks:
            print(f"  {remark}")
    for fault in found.faults:
        warn(fault)
    return 4 if found.faults else 0


def _size(size_bytes: int) -> str:
    return f"{size_bytes / 1e6:.1f} MB" if size_bytes >= 1e6 else f"{size_bytes / 1e3:.1f} kB"
