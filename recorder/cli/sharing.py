"""archive backup, restore and export: past jobs kept in one file, and given away."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli.finding import asked_of, remark_searched, selection, unit_option
from recorder.cli.terminal import (
    Commands,
    StageLines,
    as_written,
    command,
    home_path,
    open_home,
    plain,
    print_json,
    settings_of,
    warn,
    words_of,
)
from recorder.model.plural import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from recorder.archive.disk.home import Home
    from recorder.archive.finding.saved import Asked
    from recorder.archive.sharing.table import Units
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
    _add_export(actions, shared)


def _add_export(actions: Commands, shared: argparse.ArgumentParser) -> None:
    export = command(
        actions, shared, "export", "write jobs as CSV or JSON, or with their media as a ZIP file",
        _export,
    )  # fmt: skip
    export.add_argument(
        "jobs", nargs="*", metavar="JOB",
        help="id, start of an id, job number, or 'last' (default: all)",
    )  # fmt: skip
    form = export.add_mutually_exclusive_group(required=True)
    form.add_argument(
        "--csv", type=Path, metavar="FILE", help="one row for each press run; - is standard output"
    )
    form.add_argument(
        "--jsonl", type=Path, metavar="FILE",
        help="one job a line, as its job.json has it; - is standard output",
    )  # fmt: skip
    form.add_argument(
        "--zip",
        type=Path,
        metavar="FILE",
        help="whole jobs with their media, for 'archive import' elsewhere",
    )
    export.add_argument("--words", default="", metavar="TEXT", help="only jobs with these words")
    selection(export)
    unit_option(export)
    export.add_argument("--replace", action="store_true", help="FILE may exist and is replaced")


def _chosen(
    named: list[str], asked: Asked, home: Home, progress: StageLines
) -> tuple[Sequence[str], int]:
    """Ids of the jobs that are named, or that fulfil what is asked for; of all when nothing is. And
    the exit code: 4 where jobs cannot be read, which may be among those that are wanted.
    """
    from recorder.archive.finding.lookup import find_job
    from recorder.errors import WrongUse
    from recorder.flows.find import selected

    if not named:
        chosen = selected(home, asked, progress)
        remark_searched(chosen.instead, chosen.unread)
        return chosen.ids, 4 if chosen.unread else 0
    if asked.model_copy(update={"units": ()}) != type(asked)():
        detail = "name jobs, or say what they must fulfil, not both"
        raise WrongUse(detail=detail, command="archive export")
    return list(dict.fromkeys(find_job(home, wanted).id for wanted in named)), 0


def _backup(arguments: argparse.Namespace) -> int:
    from recorder.archive.disk.home import Home
    from recorder.errors import WrongUse
    from recorder.flows.backup import backup, look

    wrong = ""
    if str(arguments.file) == "-":
        wrong = "a backup cannot go to standard output, since it is read back"
    elif arguments.check and (arguments.without_keys or arguments.replace):
        wrong = "--check writes nothing and takes no other option"
    if wrong:
        raise WrongUse(detail=wrong, command="archive backup")
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
    code = _told(arguments, found, "whole" if arguments.check else "written and verified")
    if not found.jobs and not arguments.check:
        warn(f"there are no jobs in {home_path(arguments)}")
    return code


def _restore(arguments: argparse.Namespace) -> int:
    from recorder.flows.backup import restore

    progress = StageLines()
    found = restore(open_home(arguments), arguments.file, progress)
    progress.close()
    if arguments.json:
        print_json(found.model_dump(mode="json"))
    else:
        print(f"{counted(found.jobs, 'job')} restored, and in the index")
        for name in found.stayed:
            print(f"  {name} was here already and stays as it was")
    for fault in (*found.faults, *found.damaged):
        warn(fault)
    return 4 if found.faults or found.damaged else 0


def _export(arguments: argparse.Namespace) -> int:
    from recorder.archive.disk.home import Home
    from recorder.errors import WrongUse
    from recorder.flows.export import export_package
    from recorder.flows.wanted_units import wanted_units

    wrong = ""
    if str(arguments.zip) == "-":
        wrong = "a package cannot go to standard output, since it is read back"
    elif arguments.unit and not arguments.csv:
        wrong = "--unit is for --csv; the other two hold the record as it is"
    if wrong:
        raise WrongUse(detail=wrong, command="archive export")
    home = Home.open(home_path(arguments), create=False)
    progress = StageLines()
    with words_of(home.root, settings_of(home.root)):
        asked = asked_of(arguments, home, arguments.words)
        units = wanted_units(asked.units)
        ids, code = _chosen(arguments.jobs, asked, home, progress)
    if not ids:
        progress.close()
        warn("no job matches; nothing was written")
        return code
    if not arguments.zip:
        return _export_text(arguments, home, ids, units, progress) or code
    kept = export_package(home, ids, arguments.zip, replace=arguments.replace, progress=progress)
    progress.close()
    return _told(arguments, kept, "written and verified") or code


def _export_text(
    arguments: argparse.Namespace, home: Home, ids: Sequence[str], units: Units,
    progress: StageLines,
) -> int:  # fmt: skip
    from recorder.flows.export import export_text

    path = arguments.csv or arguments.jsonl
    to_screen = str(path) == "-"
    if to_screen:
        as_written(sys.stdout)
    found = export_text(
        home, ids, sys.stdout if to_screen else path,
        "csv" if arguments.csv else "json", units=units, replace=arguments.replace,
        progress=progress,
    )  # fmt: skip
    progress.close()
    if found.path and arguments.json:
        print_json(found.model_dump(mode="json"))
    elif found.path:
        print(f"{found.path}: {counted(found.jobs, 'job')}, written")
    for fault in found.faults:
        warn(fault)
    return 4 if found.faults else 0


def _told(arguments: argparse.Namespace, found: Kept, state: str) -> int:
    """Print what a package holds; the exit code."""
    if arguments.json:
        print_json(found.model_dump(mode="json"))
    else:
        print(f"{found.path}: {found.kind} of {counted(found.jobs, 'job')}, {state}")
        sizes = f"{_size(found.unpacked_bytes)}; as a file {_size(found.size_bytes)}"
        print(f"  {counted(found.files, 'file')}, {sizes}")
        who = plain(f"{found.by.person} on {found.by.device}")
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
