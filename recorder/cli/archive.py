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
    open_home,
    print_json,
    warn,
)

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.flows.archive import Looked
    from recorder.flows.progress import Progress

    Flow = Callable[[Home, Progress], Looked]


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    actions = group(commands, "archive", "look after the past jobs")
    command(actions, shared, "rebuild", "make the index anew from the job folders", _rebuild)
    command(
        actions, shared, "check", "hold index, events and every file against the records", _check
    )
    importing.add(actions, shared)
    redacting.add(actions, shared)
    sharing.add(actions, shared)


def _rebuild(arguments: argparse.Namespace) -> int:
    from recorder.flows import archive

    return _looked(arguments, archive.rebuild)


def _check(arguments: argparse.Namespace) -> int:
    from recorder.flows import archive

    return _looked(arguments, archive.check)


def _looked(arguments: argparse.Namespace, flow: Flow) -> int:
    progress = StageLines()
    found = flow(open_home(arguments), progress)
    progress.close()
    if arguments.json:
        print_json(found.model_dump(mode="json"))
    else:
        print(f"{found.jobs} jobs in the index")
        for remark in found.remarks:
            print(remark)
    for fault in found.faults:
        warn(fault)
    return 4 if found.faults else 0
