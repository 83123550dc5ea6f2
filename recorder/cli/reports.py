"""report, verify: a job to its signed report, and a report to what can be said of it."""

from __future__ import annotations

import argparse

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


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    report = command(commands, shared, "report", "sign and write the PDF of a job", _report)
    report.add_argument("job", metavar="JOB", help="id, start of an id, job number, or 'last'")

    verifying.add(commands, shared)


def _report(arguments: argparse.Namespace) -> int:
    from recorder.archive.lookup import find_job
    from recorder.archive.reports import reports
    from recorder.flows import report
    from recorder.model.job import needs_person, to_confirm

    home = open_home(arguments)
    settings = settings_of(home.root)
    folder = find_job(home, arguments.job)
    job = folder.load()
    fresh = not (home.identity / report.KEY_FILE).exists()
    key = report.signer(home, job, settings.report, ask_secret())
    if fresh:
        warn(
            f"made a signing key for {key.common_name}, {key.organization}; to sign as another, "
            "remove it and set report.technician and report.firm in settings.toml"
        )
    progress = StageLines()
    pdf = report.write(home, folder, settings, key, progress)
    progress.close()
    job = folder.load()
    left = to_confirm(job)
    if arguments.json:
        print_json({
            "job": job.id, "pdf": str(pdf), "sha256": reports(folder)[-1].sha256,
            "signer": key.common_name, "not_confirmed": [reading.field for reading in left],
        })  # fmt: skip
    else:
        print(f"Signed report  {pdf}")
        for reading in left:
            print(f"not confirmed  {reading.field}: {reading.shown()}")
    return 4 if needs_person(job) else 0
