"""search and archive: past jobs, the index over them, and jobs restored from reports."""

from __future__ import annotations

import argparse
from pathlib import Path

from recorder.cli.terminal import (
    Commands,
    StageLines,
    at_least_one,
    command,
    open_home,
    print_json,
    settings_of,
    warn,
    words_of,
)


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    search = command(commands, shared, "search", "past jobs by words and ranges", _search)
    search.add_argument("words", nargs="*", metavar="WORD", help="every word must occur")
    search.add_argument(
        "--where", action="append", default=[], metavar="CONDITION",
        help="e.g. 'top_temperature>=350degF' or 'belt_width=60mm..80mm'; may be repeated",
    )  # fmt: skip
    search.add_argument("--outcome", metavar="WORD", help="accepted, rework or rejected")
    search.add_argument("--since", metavar="DATE", help="e.g. 2026, 2026-03 or 2026-03-09")
    search.add_argument("--until", metavar="DATE", help="up to the end of that day, month or year")
    search.add_argument(
        "--limit", type=at_least_one, default=50, help="at most so many (default: 50)"
    )

    archive = command(commands, shared, "archive", "look after the past jobs", _archive)
    archive.add_argument(
        "action", choices=("rebuild", "check", "import"),
        help="rebuild: make the index anew from the job folders; check: compare the two, and every "
        "file with its SHA-256; import: restore jobs from their signed reports",
    )  # fmt: skip
    archive.add_argument("reports", nargs="*", type=Path, metavar="PDF", help="reports to import")
    archive.add_argument(
        "--originals", type=Path, metavar="FOLDER",
        help="import: take in the original files of the job that lie in it, by their SHA-256",
    )  # fmt: skip


def _search(arguments: argparse.Namespace) -> int:
    from recorder.flows.find import find

    home = open_home(arguments)
    with words_of(home.root, settings_of(home.root)):
        hits = find(
            home, " ".join(arguments.words), arguments.where, arguments.outcome,
            arguments.since, arguments.until, arguments.limit,
        )  # fmt: skip
    for hit in hits:
        if arguments.json:
            print_json(hit.model_dump(mode="json"))
        else:
            note = "" if hit.complete else "   (interrupted)"
            outcome = hit.outcome or "-"
            print(f"{hit.created_at:%Y-%m-%d}  {outcome:9} {hit.title}   [{hit.id}]{note}")
            if hit.sound_s is not None:
                print(f"            heard at {hit.sound_s:.0f} s of {hit.sound_file}")
            if hit.snippet:
                print(f"            {hit.snippet}")
    if not hits and not arguments.json:
        warn("no job matches")
    return 0


def _archive(arguments: argparse.Namespace) -> int:
    from recorder.errors import WrongUse
    from recorder.flows import archive

    if arguments.action == "import":
        return _import(arguments)
    if arguments.reports or arguments.originals:
        raise WrongUse(detail=f"{arguments.action} takes no files", command="archive")
    home = open_home(arguments)
    progress = StageLines()
    flow = archive.rebuild if arguments.action == "rebuild" else archive.check
    found = flow(home, progress)
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


def _import(arguments: argparse.Namespace) -> int:
    """One report after another; a refused one is told and does not stop the rest."""
    from recorder.errors import InputRefused, VerificationFailed, WrongUse
    from recorder.flows.restore import import_report

    if not arguments.reports:
        raise WrongUse(detail="import needs the PDF of a report", command="archive")
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
