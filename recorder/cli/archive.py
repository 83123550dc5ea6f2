"""archive: look after the past jobs; the index over them, and what makes it again."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from recorder.cli import importing, redacting, sharing
from recorder.cli.terminal import (
    Commands,
    StageLines,
    command,
    group,
    home_path,
    open_home,
    print_json,
    warn,
)
from recorder.model.plural import counted

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.flows.archive import Looked
    from recorder.flows.progress import Progress

    Flow = Callable[[Home, Progress], Looked]


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    actions = group(commands, "archive", "look after the past jobs")
    command(
        actions, shared, "check", "check index, events and every file against the records", _check
    )
    sharing.add(actions, shared)
    importing.add(actions, shared)
    redacting.add(actions, shared)
    adopt = command(
        actions, shared, "adopt", "take the record of a job as it is, whoever changed it", _adopt
    )
    adopt.add_argument("job", metavar="JOB", help="id, start of an id, job number, or 'last'")
    adopt.add_argument(
        "--reason", default="it was looked at and taken as it is", metavar="TEXT",
        help="why it is right as it is; stands in the history of the job",
    )  # fmt: skip
    command(actions, shared, "rebuild", "make the index anew from the job folders", _rebuild)


def _rebuild(arguments: argparse.Namespace) -> int:
    from recorder.flows import archive

    return _looked(arguments, archive.rebuild, open_home(arguments))


def _check(arguments: argparse.Namespace) -> int:
    """Also of a home that is read-only."""
    from recorder.archive.disk.home import Home
    from recorder.flows import archive

    return _looked(arguments, archive.check, Home.open(home_path(arguments), create=False))


def _looked(arguments: argparse.Namespace, flow: Flow, home: Home) -> int:
    progress = StageLines()
    found = flow(home, progress)
    progress.close()
    if arguments.json:
        print_json(found.model_dump(mode="json"))
    else:
        folders = counted(found.folders, "job folder")
        indexed = "" if found.jobs is None else f", {counted(found.jobs, 'job')} in the index"
        print(f"{folders}{indexed}")
        for remark in found.remarks:
            print(remark)
    for fault in found.faults:
        warn(fault)
    return 4 if found.faults else 0


def _adopt(arguments: argparse.Namespace) -> int:
    """What adopting cannot mend, such as a lost file of events of another device, is told."""
    from recorder.archive.finding.lookup import find_job
    from recorder.flows import archive, redact

    home = open_home(arguments)
    reason = redact.fit_reason(arguments.reason, "adoption")
    folder = find_job(home, arguments.job)
    mended = archive.adopt(home, folder, reason)
    left = folder.record_faults()
    if arguments.json:
        print_json({"job": folder.id, "adopted": list(mended), "left": list(left)})
    elif mended:
        print(f"job {folder.id} is taken as it is; its history says so. What was found:")
        print("\n".join(mended))
    else:
        print(f"job {folder.id} and its events fit each other; nothing to adopt")
    for fault in left:
        warn(fault)
    return 4 if left else 0
