"""The commands and their arguments. Each group of commands adds its own."""

from __future__ import annotations

import argparse
from pathlib import Path

from recorder import __version__
from recorder.cli import (
    archive,
    cameras,
    evidence,
    finding,
    firm,
    identity,
    jobs,
    preparing,
    recipes,
    reports,
    serving,
    setup,
    trends,
)
from recorder.cli.terminal import Parser

_ABOUT = """\
Seamnote records belt-splice jobs: it hears the technician, measures the seam
in photos, asks about whatever is doubtful, writes a signed report, and finds
any past job again.

It records; it does not instruct. Isolate and lock out the drive, mind hot
platens, crushing points, fumes and the electrical supply, and follow the
plant's rules, local codes, the belt maker's data and licensed practice.
"""

_EXITS = """\
exit codes: 0 done; 2 wrong use; 3 input refused; 4 done, but something needs a
person; 5 verification failed; 1 unforeseen (a bug)
"""


def build() -> argparse.ArgumentParser:
    parser = Parser(
        prog="seamnote", description=_ABOUT, epilog=_EXITS,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("--version", action="version", version=f"seamnote {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    shared = argparse.ArgumentParser(add_help=False)
    shared.add_argument(
        "--home", type=Path, metavar="DIR",
        help="where jobs, index, key and settings lie (default: SEAMNOTE_HOME, else the "
        "platform's folder for user data)",
    )  # fmt: skip
    shared.add_argument("--json", action="store_true", help="print JSON, one object a line")
    for group in (
        jobs, serving, preparing, reports, identity, evidence, cameras, finding, recipes, trends,
        firm, archive, setup,
    ):  # fmt: skip
        group.add(commands, shared)
    return parser
