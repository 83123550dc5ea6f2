"""demo, process, confirm, show: a job from its recording to what is known of it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    StageLines,
    at_least_one,
    command,
    home_path,
    open_home,
    print_json,
    settings_of,
    warn,
    words_of,
)

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.archive.jobs.folder import JobFolder
    from recorder.model.job import Job
    from recorder.model.reading import Reading


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    command(commands, shared, "demo", "an invented job, end to end, into a fresh home", _demo)

    process = command(
        commands, shared, "process", "a folder of recordings and photos to a job", _process
    )
    process.add_argument(
        "folder", type=Path, metavar="FOLDER",
        help="wav, flac, mp3, m4a, ogg, opus; jpg, png, heic; and job.toml if there is one",
    )  # fmt: skip

    confirm = command(commands, shared, "confirm", "go through the doubtful readings", _confirm)
    confirm.add_argument("job", metavar="JOB", help="id, start of an id, job number, or 'last'")
    confirm.add_argument(
        "--accept", action="append", default=[], metavar="FIELD",
        help="say yes to what was heard for this field",
    )  # fmt: skip
    confirm.add_argument(
        "--set", action="append", default=[], metavar="FIELD=VALUE", dest="values",
        help="enter a value with its unit, e.g. --set 'pressure=2.2 bar'",
    )  # fmt: skip
    confirm.add_argument(
        "--splice", type=at_least_one, help="of which splice (default: the one in doubt)"
    )
    confirm.add_argument(
        "--run", type=at_least_one, dest="press_run", help="of which press run of it"
    )

    show = command(commands, shared, "show", "everything that is known of a job", _show)
    show.add_argument("job", metavar="JOB", help="id, start of an id, job number, or 'last'")


def _demo(arguments: argparse.Namespace) -> int:
    from recorder.cli import job_text
    from recorder.flows.demo import PASSPHRASE, demo

    progress = StageLines(every=True)
    settings = settings_of(home_path(arguments))
    done = demo(home_path(arguments) if arguments.home else None, settings, progress)
    progress.close()
    if arguments.json:
        print_json({
            "home": str(done.home), "job": done.job.id, "pdf": str(done.pdf),
            "approved": str(done.approved),
        })  # fmt: skip
        return 0
    print(job_text.summary(done.job))
    print(f"\nJob folder       {done.home / 'jobs' / done.job.id}")
    print(f"Signed report    {done.pdf}")
    print(f"Approved report  {done.approved}")
    print(
        f"\nTry: seamnote verify --home {done.home} {done.approved}"
        f"\n     seamnote show --home {done.home} last"
        f"\n     seamnote search --home {done.home} forklift"
        f"\n     seamnote recipe find --home {done.home} last"
        f"\n     SEAMNOTE_PASSPHRASE={PASSPHRASE} seamnote report --home {done.home} last"
        f"\n     SEAMNOTE_PASSPHRASE={PASSPHRASE} seamnote approve --home {done.home} last "
        "--name NAME --drawing PICTURE"
    )
    return 0


def _process(arguments: argparse.Namespace) -> int:
    from recorder.cli import job_text
    from recorder.flows.draft import DRAFT
    from recorder.flows.process import all_refused, process, refusals
    from recorder.model.job import needs_person

    home = open_home(arguments)
    progress = StageLines()
    settings = settings_of(home.root)
    with words_of(home.root, settings):
        done = process(home, arguments.folder, settings, progress)
    progress.close()
    for line in refusals(done.job):
        warn(line)
    for name in done.passed_over:
        warn(f"{name} is neither a recording nor a photo; it was left where it is")
    if done.again:
        warn(f"the same files were processed before, as job {done.job.id}; nothing was done anew")
    gone = [media.name for media in done.job.media if media.removed]
    if gone:
        warn(
            f"{', '.join(gone)}: removed from it on request, and not kept again; what still lies "
            f"in {arguments.folder} is yours to delete"
        )
    if arguments.json:
        print_json(job_text.as_json(done.job, done.folder))
    else:
        print(job_text.summary(done.job))
        print(f"\nJob folder     {done.folder}")
        if not done.no_draft:
            print(f"Draft report   {done.folder / DRAFT}")
    if done.no_draft:
        warn(done.no_draft)
    if done.no_draft or all_refused(done.job):
        return 3
    return 4 if needs_person(done.job) or refusals(done.job) else 0


def _confirm(arguments: argparse.Namespace) -> int:
    from recorder.archive.finding.lookup import find_job
    from recorder.flows import confirm, draft
    from recorder.model.job import to_confirm

    home = open_home(arguments)
    folder = find_job(home, arguments.job)
    job = before = folder.load()
    settings = settings_of(home.root)
    with words_of(home.root, settings):
        if arguments.accept or arguments.values:
            for reading in _prepared(arguments, job):
                job = confirm.keep(home, folder, reading)
                if not arguments.json:
                    print(f"kept: {reading.field} = {reading.shown()}")
        elif not arguments.json:
            job = _ask_all(home, folder, job)
    if job != before:
        draft.write(home, job, folder, settings)
    left = to_confirm(job)
    if arguments.json:
        print_json({"job": job.id, "to_confirm": [r.model_dump(mode="json") for r in left]})
    else:
        count = {0: "nothing is", 1: "1 reading is"}.get(len(left), f"{len(left)} readings are")
        print(f"{count} left to confirm")
    return 4 if left else 0


def _prepared(arguments: argparse.Namespace, job: Job) -> list[Reading]:
    """All readings that the options ask for, made before the first is kept: all or none."""
    from recorder.errors import WrongUse
    from recorder.flows import confirm
    from recorder.model.job import in_force, last_run, last_splice, to_confirm

    def meant(field: str, among: Iterable[Reading]) -> Reading | None:
        found = [
            reading
            for reading in among
            if reading.field == field
            and arguments.splice in (None, reading.splice)
            and arguments.press_run in (None, reading.run)
        ]
        if len(found) > 1:
            raise WrongUse(
                detail=f"{field} is in doubt {len(found)} times; say --splice and --run",
                command="confirm",
            )
        return found[0] if found else None

    doubts = to_confirm(job)
    held = in_force(job.readings, arguments.splice, arguments.press_run).values()
    readings: list[Reading] = []
    for field in arguments.accept:
        heard = meant(field, doubts) or meant(field, held)
        if heard is None:
            raise WrongUse(detail=f"{field} has no value to accept", command="confirm")
        readings.append(confirm.accept(heard))
    for pair in arguments.values:
        field, equals, text = pair.partition("=")
        if not equals:
            raise WrongUse(detail=f"{pair!r} is not FIELD=VALUE", command="confirm")
        doubt = meant(field.strip(), doubts)
        if doubt:
            readings.append(confirm.replace(doubt, text.strip()))
        else:
            splice = arguments.splice or last_splice(job.readings)
            run = arguments.press_run or last_run(job.readings, splice)
            if splice > last_splice(job.readings) or run > last_run(job.readings, splice):
                raise WrongUse(
                    detail=f"the job has no run {run} of splice {splice}", command="confirm"
                )
            readings.append(confirm.enter(field.strip(), text.strip(), splice, run))
    return readings


def _ask_all(home: Home, folder: JobFolder, job: Job) -> Job:
    """One question after another; each answer is kept before the next question."""
    from recorder.errors import WrongUse
    from recorder.flows import confirm
    from recorder.model.job import to_confirm

    doubts = to_confirm(job)
    if doubts:
        print("Answer y for yes, a value with its unit, l for later, q to stop.\n")
    for number, doubt in enumerate(doubts, 1):
        print(f"{number}/{len(doubts)}  {confirm.question(doubt)}")
        while True:
            reply = _reply()
            if reply in ("q", "quit"):
                return job
            if reply in ("l", "later", ""):
                break
            try:
                # To a question about a flag, "yes" is a value and not a confirmation.
                yes = reply.lower() in ("y", "yes") and not isinstance(doubt.value, bool)
                said = confirm.accept(doubt) if yes else confirm.replace(doubt, reply)
            except WrongUse as error:
                print(f"     {error}")
                continue
            job = confirm.keep(home, folder, said)
            print(f"     kept: {doubt.field} = {said.shown()}")
            break
    return job


def _reply() -> str:
    print("     > ", end="", flush=True)
    line = sys.stdin.readline()
    return line.strip() if line else "q"


def _show(arguments: argparse.Namespace) -> int:
    from recorder.archive.finding.lookup import find_job
    from recorder.cli import job_text

    folder = find_job(open_home(arguments), arguments.job)
    job = folder.load()
    if arguments.json:
        print_json(job_text.as_json(job, folder.path))
    else:
        print(job_text.summary(job, brief=False))
        print(job_text.details(job, folder.path))
    return 0
