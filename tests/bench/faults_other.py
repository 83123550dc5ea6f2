"""Two processes at once, a clock that goes back, a home that has moved; and all other faults."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.flows import archive
from tests.bench import faults_home, faults_kill
from tests.bench.faults_commands import target
from tests.bench.faults_damage import damage
from tests.bench.faults_disk import full, one_line, readonly
from tests.bench.faults_home import NUMBER, Material
from tests.bench.faults_run import Ran, Running, environment, run, tripped

YEARS_BACK_S = -5 * 365 * 86_400
ROUNDS = 4


def together(material: Material) -> list[str]:
    """Pairs of commands that begin at the same time, several times each."""
    confirm = [
        "confirm",
        NUMBER,
        "--set=dwell_time=3 min",
        "--set=bubbles=no",
        "--set=outcome=rejected",
    ]
    other = ["confirm", NUMBER, "--accept=pressure", "--set=top_temperature=172 degC"]
    process = ["process", str(material.source)]
    pairs = (
        (confirm, other, 1), (["report", NUMBER], ["report", NUMBER], 1),
        (confirm, ["report", NUMBER], 1), (confirm, ["archive", "rebuild"], 1),
        (["archive", "rebuild"], ["archive", "rebuild"], 1), (process, ["archive", "rebuild"], 0),
        (process, process, 0),
    )  # fmt: skip
    found: list[str] = []
    for one, two, done in pairs:
        for _ in range(ROUNDS if done else 1):
            home = material.copy(material.after if done else material.before)
            before = faults_home.held(home)
            ends = at_once(home, one, two)
            told = f"{' '.join(one[:2])} + {' '.join(two[:2])}"
            found += [f"{told}: {line}" for line in _sound(home, before, *ends)]
            found += [f"{told}: {line}" for line in _all_there(home, material, *ends)]
    found += _backup_meanwhile(material, confirm)
    return found


def at_once(home: Path, one: list[str], two: list[str]) -> tuple[Ran, Ran]:
    running = [Running(arguments, environment(home)) for arguments in (one, two)]
    first, second = (each.end() for each in running)
    return first, second


def _sound(home: Path, before: dict[str, faults_home.Held], *ends: Ran) -> list[str]:
    """Both ended well, or one was told that the other is at the same files; nothing is lost."""
    found = [
        f"{ran.code} {ran.last_line()}"
        for ran in ends
        if ran.code not in (0, 4) and not (ran.code == 3 and "jobs/processing-" in ran.shown)
    ]
    if all(ran.code == 3 for ran in ends):
        found.append("each gave way to the other")
    for ran in ends:
        found += one_line(ran)
    found += faults_home.lost(before, faults_home.held(home))
    found += archive.check(Home(home), faults_kill.Quiet()).faults
    return [*found, *faults_kill.history_gaps(home), *faults_home.litter(home)]


def _all_there(home: Path, material: Material, *ends: Ran) -> list[str]:
    """What either told stands in the record once; one job for each folder that was processed."""
    found = []
    folders = [folder for folder in (home / "jobs").iterdir() if folder.name[0] != "."]
    if len(folders) != len(faults_home.jobs(home)):
        found.append("two jobs were made of the same files")
    for ran in ends:
        for line in ran.out.splitlines():
            if line.startswith("Signed report") and not Path(line.split(None, 2)[2]).is_file():
                found.append(f"{line}: it is not there")
    kept = sum(ran.out.count("kept: ") for ran in ends)
    if kept:
        now, was = (
            next(job for _, job in faults_home.jobs(each).values() if len(job.media) == 4)
            for each in (home, material.after)
        )
        if len(now.readings) - len(was.readings) != kept:
            found.append(f"{kept} readings kept, {len(now.readings) - len(was.readings)} there")
    return found


def _backup_meanwhile(material: Material, confirm: list[str]) -> list[str]:
    found: list[str] = []
    for number in range(ROUNDS):
        home = material.copy(material.after)
        before = faults_home.held(home)
        ends = at_once(home, confirm, ["archive", "backup", str(target(home))])
        found += _sound(home, before, *ends)
        restored = home.with_name(f"restored {number}")
        back = run(["archive", "restore", str(target(home))], restored)
        if back.code != 0:
            found.append(f"restore: {back.code} {back.last_line()}")
            continue
        found += faults_home.lost(before, faults_home.held(restored))
        found += archive.check(Home(restored), faults_kill.Quiet()).faults
        found += faults_kill.history_gaps(restored)
    return [f"backup while confirming: {line}" for line in found]


def clock(material: Material) -> list[str]:
    """Every deed by a clock that went five years back, and then by the right one again."""
    home = material.copy(material.before)
    before = faults_home.held(home)
    process = ["process", str(material.source)]
    steps = (
        (process, YEARS_BACK_S), (["confirm", NUMBER, "--accept=pressure"], 0),
        (["confirm", NUMBER, "--set=dwell_time=3 min"], YEARS_BACK_S), (["report", NUMBER], 0),
        (["report", NUMBER], YEARS_BACK_S // 5), (["confirm", NUMBER, "--set=bubbles=no"], 0),
        (["archive", "rebuild"], YEARS_BACK_S), (["search", NUMBER], YEARS_BACK_S),
    )  # fmt: skip
    found: list[str] = []
    for arguments, clock_s in steps:
        ran = tripped(arguments, home, home.parent, clock_s=clock_s)
        found += [f"{arguments[0]}: {line}" for line in one_line(ran)]
        # A key that is younger than the clock cannot sign: that must be told and not done.
        allowed = (0, 3, 4) if arguments[0] == "report" and clock_s else (0, 4)
        if ran.code not in allowed:
            found.append(f"{' '.join(arguments)}: {ran.code} {ran.last_line()}")
    found += faults_home.lost(before, faults_home.held(home))
    found += archive.check(Home(home), faults_kill.Quiet()).faults
    return [*found, *faults_kill.history_gaps(home)]


def moved(material: Material) -> list[str]:
    """A copy of the home in another place on a machine of another name; the first is gone."""
    first = material.copy(material.after)
    place = material.place / "another machine"
    shutil.rmtree(place, ignore_errors=True)
    home = place / "home of the firm"
    shutil.copytree(first, home, symlinks=True)
    before = faults_home.held(home)
    shutil.rmtree(first)
    report = next(home.glob("jobs/*/reports/*.pdf"))
    elsewhere = ["unshare", "-ru", "sh", "-c", 'hostname another-van; exec "$@"', "sh"]
    found: list[str] = []
    for arguments in (
        ["search", NUMBER], ["show", NUMBER], ["verify", str(report)], ["archive", "check"],
        ["confirm", NUMBER, "--accept=pressure"], ["report", NUMBER],
        ["process", str(material.source)], ["archive", "check"],
    ):  # fmt: skip
        ran = Running(arguments, environment(home), before=elsewhere).end()
        found += [f"{arguments[0]}: {line}" for line in one_line(ran)]
        if ran.code not in (0, 4) or (arguments[1] == "check" and ran.code):
            found.append(f"{' '.join(arguments)}: {ran.code} {ran.last_line()}")
    found += faults_home.lost(before, faults_home.held(home))
    if not any(b"another-van" in path.read_bytes() for path in home.glob("jobs/*/events.jsonl")):
        found.append("the events do not name the other machine")
    return [*found, *faults_kill.history_gaps(home)]


CHECKS: dict[str, Callable[[Material], list[str]]] = {
    "full": full,
    "readonly": readonly,
    "together": together,
    "damage": damage,
    "clock": clock,
    "moved": moved,
}
