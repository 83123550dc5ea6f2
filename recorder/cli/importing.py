"""archive import: jobs that come from elsewhere."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    StageLines,
    command,
    open_home,
    plain,
    print_json,
    warn,
)
from recorder.model.plural import counted

if TYPE_CHECKING:
    from recorder.flows.imported import Imported

_ABOUT = """
A job that is not here is taken in whole. One that is here in another state is
merged: every reading of both sides stays, in the order in which they were
told, and where the two give different values 'seamnote confirm' asks a person.
Nothing comes in twice, however often it is imported.

A signed report whose signer this home does not know brings a job that is not
here, and changes none that is. Packages and folders are not signed: import
them from devices that you trust.
"""


def add(actions: Commands, shared: argparse.ArgumentParser) -> None:
    parser = command(
        actions, shared, "import", "take in jobs of another device, or of signed reports", _import
    )
    parser.description = f"{parser.description}\n{_ABOUT}"
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument(
        "sources", nargs="+", type=Path, metavar="SOURCE",
        help="a signed report, a package of 'archive backup' or 'archive export', a home, or the "
        "folder of one job",
    )  # fmt: skip
    parser.add_argument(
        "--originals", type=Path, metavar="FOLDER",
        help="take in the original files of the jobs that lie in it, by their SHA-256",
    )  # fmt: skip
    parser.add_argument(
        "--from-unknown", action="store_true",
        help="let reports change jobs that are here though nobody here knows who signed them",
    )  # fmt: skip


def _import(arguments: argparse.Namespace) -> int:
    """One source after another; a refused one is told and does not stop the rest."""
    from recorder.errors import InputRefused, VerificationFailed
    from recorder.flows.importing import import_from

    home = open_home(arguments)
    codes = {0}
    for source in arguments.sources:
        progress = StageLines()
        try:
            for found in import_from(
                home, source, arguments.originals, arguments.from_unknown, progress
            ):
                progress.clear()
                codes.add(_tell(found, arguments.json))
        except (InputRefused, VerificationFailed) as error:
            warn(str(error))
            codes.add(error.exit_code)
        finally:
            progress.close()
    return next(code for code in (5, 3, 4, 0) if code in codes)


def _tell(found: Imported, as_json: bool) -> int:
    """One line on a job, and what a person should know of it besides; the exit code."""
    if as_json:
        print_json(found.model_dump(mode="json"))
    elif not found.refused:
        print(f"{found.outcome:12} {plain(found.title)}   [{found.job}]{_details(found)}")
    if found.refused:
        warn(found.refused)
        return 3
    for line in _remarks(found):
        warn(f"job {found.job}: {line}")
    return 4 if found.needs_person else 0


def _details(found: Imported) -> str:
    """', 2 readings new, 1 question, as 20261125-…'."""
    told = []
    if found.readings:
        told.append(f"{counted(found.readings, 'reading')} new")
    told += [f"{name} {number}" for name, number in found.parts.items() if name != "complete"]
    if found.questions:
        told.append(counted(found.questions, "question"))
    if found.reports:
        told.append(f"{counted(found.reports, 'report')} new")
    if found.brought:
        told.append(f"{counted(len(found.brought), 'original file')} brought")
    if found.elsewhere:
        told.append(f"{counted(len(found.elsewhere), 'original file')} not here")
    if found.also:
        told.append(f"there {plain(found.also)}")
    return "".join(f", {part}" for part in told)


def _remarks(found: Imported) -> list[str]:
    told = []
    if not found.known:
        told.append(f"the signature of {found.signer} is good, but not known to this home")
    if found.questions:
        told.append(f"{counted(found.questions, 'question')}; see 'seamnote confirm {found.job}'")
    if found.measured_otherwise:
        photos = ", ".join(found.measured_otherwise)
        told.append(f"{photos} was measured otherwise there; its events keep that result")
    if found.removed:
        told.append(
            f"{', '.join(found.removed)} was removed on request there and counts as removed; take "
            f"the files out here too with 'seamnote archive redact {found.job} --reason TEXT'"
        )
    if found.words_removed:
        told.append(
            f"what was said in {', '.join(found.words_removed)} was removed on request there; do "
            f"so here with 'seamnote archive redact {found.job} --transcript --reason TEXT'"
        )
    if found.left:
        told.append(f"{', '.join(found.left)} is damaged there and was not taken")
    return told
