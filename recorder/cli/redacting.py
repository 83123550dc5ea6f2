"""archive redact: a person's voice taken out of jobs, on request or when its time is over."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from recorder.cli.terminal import (
    Commands,
    StageLines,
    command,
    home_path,
    open_home,
    print_json,
    settings_of,
    warn,
)
from recorder.model.plural import counted

if TYPE_CHECKING:
    from recorder.archive.disk.home import Home
    from recorder.flows.redact import Planned, Removed
    from recorder.settings import Settings

_STAYS = """\
Stays: photos; values and stages, with the words that carry them; names, digests
and sizes of all files; events. Signed reports stay valid: those written before
hold no sound, but the transcript as it was.
Backups, exports and copies elsewhere still hold all of it: delete or renew
those yourself. Which records a firm must keep, and which it must delete, the
law says and not this program."""
_TRANSCRIPT_STAYS = "The transcripts and notes stay too; --transcript takes them as well."


def add(actions: Commands, shared: argparse.ArgumentParser) -> None:
    parser = command(
        actions, shared, "redact", "take a person's voice out; the record stays provable", _redact
    )
    parser.add_argument(
        "jobs", nargs="*", metavar="JOB", help="id, start of an id, job number, or 'last'"
    )
    parser.add_argument(
        "--due", action="store_true",
        help="instead of JOB: all whose recordings are older than keep_recordings_days",
    )  # fmt: skip
    parser.add_argument("--reason", metavar="TEXT", help="who asked for it, or which rule")
    parser.add_argument(
        "--transcript", action="store_true",
        help="also what was said and carries no value: transcripts and notes",
    )  # fmt: skip
    parser.add_argument("--yes", action="store_true", help="do it, without asking")


def _redact(arguments: argparse.Namespace) -> int:
    from recorder.flows import redact

    _require_sense(arguments)
    home, settings = open_home(arguments), settings_of(home_path(arguments))
    given = arguments.reason
    reason = redact.fit_reason(redact.due_reason(settings) if given is None else given)
    planned, code = _planned(arguments, home, settings)
    todo = [each for each in planned if not each.nothing]
    # Before anything is printed: a reader of our output who goes must not leave it half done.
    done = _remove(arguments, home, planned, reason) if arguments.yes or not todo else None
    if not arguments.json:
        _tell(planned, arguments.transcript)
        if arguments.due and not planned:
            print("no recording is due")
    for job_id in redact.copies(home, planned) if arguments.jobs else ():
        warn(f"job {job_id} holds the same recording; it is not among those that were named")
    if done is None and sys.stdin.isatty() and _agreed():
        done = _remove(arguments, home, planned, reason)
    for each in planned if arguments.json else ():
        if each.nothing or done is None:
            print_json({"done": each.nothing, **each.model_dump(mode="json")})
    if done is None:
        warn(f"nothing was removed: say --yes to remove this from {counted(len(todo), 'job')}")
        return code or 4
    return max([code, *(_told(each, arguments.json) for each in done)])


def _remove(
    arguments: argparse.Namespace, home: Home, planned: Sequence[Planned], reason: str
) -> list[Removed]:
    from recorder.flows import redact

    progress = StageLines()
    done = list(redact.remove(home, planned, reason, arguments.transcript, progress))
    progress.close()
    return done


def _require_sense(arguments: argparse.Namespace) -> None:
    from recorder.errors import WrongUse

    wrong = ""
    if bool(arguments.jobs) == arguments.due:
        wrong = "name jobs, or say --due" + (", not both" if arguments.due else "")
    elif arguments.jobs and arguments.reason is None:
        wrong = "say why with --reason; it stands in the record from then on"
    if wrong:
        raise WrongUse(detail=wrong, command="archive redact")


def _planned(
    arguments: argparse.Namespace, home: Home, settings: Settings
) -> tuple[list[Planned], int]:
    """And the exit code: 3 when some job cannot be read."""
    from datetime import datetime

    from recorder.archive.finding.lookup import find_job
    from recorder.errors import InputRefused
    from recorder.flows import redact

    if arguments.due:
        progress = StageLines()
        now = datetime.now().astimezone()
        found, damaged = redact.due(home, settings, arguments.transcript, now, progress)
        progress.close()
        for line in damaged:
            warn(line)
        return list(found), 3 if damaged else 0
    planned, code = [], 0
    for folder in dict.fromkeys(find_job(home, wanted) for wanted in arguments.jobs):
        try:
            planned.append(redact.plan(folder, arguments.transcript))
        except InputRefused as error:
            warn(str(error))
            code = error.exit_code
    return planned, code


def _tell(planned: Sequence[Planned], transcript: bool) -> None:
    for each in planned:
        print(f"Job {each.title}   [{each.job}], begun {each.created_at:%Y-%m-%d}")
        for media in each.going.recordings:
            print(f"  goes: {media.name}, {media.size_bytes / 1000:.0f} kB of sound")
        if each.going.transcripts:
            files = ", ".join(each.going.transcripts)
            print(f"  goes: what was said in {files}, {counted(each.going.words, 'word')}")
        if each.going.notes:
            print(f"  goes: {counted(each.going.notes, 'note')}")
        for path in each.left_over:
            print(f"  goes: {path.name}, left over by an earlier removal")
        if each.nothing:
            print("  nothing of a voice is in it" + ("" if transcript else " but transcripts"))
        if each.reports:
            print(f"  stays: {counted(each.reports, 'signed report')}")
    if not all(each.nothing for each in planned):
        print(_STAYS if transcript else f"{_STAYS}\n{_TRANSCRIPT_STAYS}")


def _agreed() -> bool:
    print("Nobody can bring it back. Type yes to remove it: ", end="", flush=True)
    return sys.stdin.readline().strip().lower() == "yes"


def _told(done: Removed, as_json: bool) -> int:
    if as_json:
        print_json({"done": not done.failed, **done.model_dump(mode="json")})
    elif not done.failed:
        print(f"removed        {done.title}   [{done.job}]")
    if done.failed:
        warn(done.failed)
    return 3 if done.failed else 0
