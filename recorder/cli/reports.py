"""report, approve, verify: a job to its signed report, and a report to what can be said of it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Literal

from recorder.cli import verifying
from recorder.cli.terminal import (
    Commands,
    StageLines,
    ask_secret,
    command,
    open_home,
    print_json,
    settings_of,
    warn,
)

_PAPERS: dict[str, Literal["A4", "Letter"]] = {"a4": "A4", "letter": "Letter"}


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    report = command(commands, shared, "report", "sign and write the PDF of a job", _report)
    report.add_argument("job", metavar="JOB", help="id, start of an id, job number, or 'last'")
    report.add_argument(
        "--variant", choices=("full", "short"), default="full",
        help="the whole record, or its first page with the signatures (default: full)",
    )  # fmt: skip
    report.add_argument(
        "--paper", choices=tuple(_PAPERS), help="default: report.paper of the settings, else a4"
    )

    approve = command(
        commands, shared, "approve", "let the customer sign a report, witnessed by you", _approve
    )
    approve.add_argument(
        "report", metavar="JOB|PDF", help="a signed report, or a job, whose newest report is meant"
    )
    approve.add_argument("--name", required=True, help="of the person who draws the signature")
    approve.add_argument(
        "--drawing", type=Path, required=True, metavar="FILE",
        help="png, jpg or webp: the signature that the person drew, dark on a light ground",
    )  # fmt: skip

    verifying.add(commands, shared)


def _report(arguments: argparse.Namespace) -> int:
    from recorder.archive.finding.lookup import find_job
    from recorder.flows import identity, report
    from recorder.model.job import needs_person, to_confirm

    home = open_home(arguments)
    settings = settings_of(home.root)
    folder = find_job(home, arguments.job)
    job = folder.load()
    key = identity.signer(home, job, settings, ask_secret(), warn)
    progress = StageLines()
    written = report.write(
        home, folder, settings, key, progress, arguments.variant, _PAPERS.get(arguments.paper)
    )
    progress.close()
    if written.unstamped:
        warn(written.unstamped)
    left = to_confirm(job)
    if arguments.json:
        print_json({
            "job": job.id, "pdf": str(written.path), "sha256": written.record.sha256,
            "signer": key.common_name, "not_confirmed": [reading.field for reading in left],
        })  # fmt: skip
    else:
        print(f"Signed report  {written.path}")
        for reading in left:
            print(f"not confirmed  {reading.field}: {reading.shown()}")
    return 4 if needs_person(job) else 0


def _approve(arguments: argparse.Namespace) -> int:
    from recorder.flows import approve, identity

    home = open_home(arguments)
    settings = settings_of(home.root)
    report = approve.find(home, arguments.report)
    if report.outdated:
        warn(
            f"job {report.job.id} was changed since this report was written, and the customer "
            "signs it as it was; 'seamnote report' writes one as the job is now"
        )
    key = identity.signer(home, report.job, settings, ask_secret(), warn)
    progress = StageLines()
    done = approve.write(home, report, arguments.drawing, arguments.name, settings, key, progress)
    progress.close()
    if done.unstamped:
        warn(done.unstamped)
    if not done.kept:
        warn("this home has no record of that report; the approved one lies beside it alone")
    if arguments.json:
        print_json({
            "job": report.job.id, "pdf": str(done.path), "sha256": done.sha256,
            "witness": key.common_name,
        })  # fmt: skip
    else:
        print(f"Approved report  {done.path}")
    return 0
