"""archive import: jobs that come from elsewhere."""

from __future__ import annotations

import argparse
from pathlib import Path

from recorder.cli.terminal import Commands, StageLines, command, open_home, print_json, warn


def add(actions: Commands, shared: argparse.ArgumentParser) -> None:
    parser = command(actions, shared, "import", "restore jobs from their signed reports", _import)
    parser.add_argument("reports", nargs="+", type=Path, metavar="PDF", help="reports to import")
    parser.add_argument(
        "--originals", type=Path, metavar="FOLDER",
        help="take in the original files of the job that lie in it, by their SHA-256",
    )  # fmt: skip


def _import(arguments: argparse.Namespace) -> int:
    """One report after another; a refused one is told and does not stop the rest."""
    from recorder.errors import InputRefused, VerificationFailed
    from recorder.flows.restore import import_report

    home = open_home(arguments)
    codes = {0}
    for pdf in arguments.reports:
        progress = StageLines()
        try:
            found = import_report(home, pdf, arguments.originals, progress)
        except (InputRefused, VerificationFailed) as error:
            warn(str(error))
            codes.add(error.exit_code)
            continue
        finally:
            progress.close()
        if arguments.json:
            print_json(found.model_dump(mode="json"))
        else:
            brought = f", {len(found.brought)} original files brought" if found.brought else ""
            lacking = f", {len(found.elsewhere)} not here" if found.elsewhere else ""
            print(f"{found.outcome:12} {found.title}   [{found.job}]{brought}{lacking}")
        if not found.known:
            warn(f"{pdf}: the signature of {found.signer} is good, but not known to this home")
            codes.add(4)
    return next(code for code in (5, 3, 4, 0) if code in codes)
