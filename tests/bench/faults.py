"""Faults that must lose nothing acknowledged: ``python -m tests.bench.faults``.

Real commands run in processes of their own on a scratch home and are killed with SIGKILL: at
random moments, before every deed that can change the disk, and as by a power cut, where a file
that is being brought to the disk loses a part of what was written. After each kill everything
that was there before, and everything that the command had told, must be there; the same command
must then run to the end and give what an undisturbed run gives; and ``archive check`` must find
nothing. The other faults are disk full, a read-only home, two processes at once, damaged files,
a clock that goes back, and a home on another machine.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.bench import faults_home, faults_kill, faults_other
from tests.bench.faults_commands import COMMANDS, Command
from tests.bench.faults_home import Material
from tests.bench.faults_kill import Kill


def kills(
    commands: list[Command], material: Material, count: int, every: int, seed: int
) -> Iterator[Kill]:
    """``count`` kills at random moments over all commands, and those at their deeds."""
    for command in commands:
        dice = random.Random(f"{seed} {command.name}")
        known = faults_kill.undisturbed(command, material)
        fsyncs = sum("fsync" in deed for deed in known.deeds)
        print(
            f"{command.name}: {known.took_s:.1f} s, {len(known.deeds)} deeds, {fsyncs} fsyncs",
            flush=True,
        )
        share = round(count * command.percent / sum(each.percent for each in commands))
        yield from faults_kill.at_moments(command, material, known, share, dice)
        if every:
            for power_cut in (False, True):
                yield from faults_kill.at_deeds(command, material, known, dice, power_cut, every)


def table(all_kills: list[Kill]) -> Iterator[str]:
    yield "command    place       kills  losses  unmended  litter"
    by_place: dict[tuple[str, str], list[Kill]] = {}
    for kill in all_kills:
        by_place.setdefault((kill.command, kill.place), []).append(kill)
    for (command, place), some in by_place.items():
        yield f"{command:10} {place:10} {_figures(some)}"
    yield f"{'all':21} {_figures(all_kills)}"


def _figures(some: list[Kill]) -> str:
    counts = (sum(bool(found) for found in column) for column in (
        [kill.losses for kill in some], [kill.unmended for kill in some],
        [kill.litter for kill in some],
    ))  # fmt: skip
    losses, unmended, litter = counts
    return f"{len(some):6}  {losses:6}  {unmended:8}  {litter:6}"


def _tell(kill: Kill, began: float, number: int) -> None:
    for name in ("losses", "unmended", "litter"):
        for line in getattr(kill, name):
            print(f"  {name.upper()} {kill.command}, {kill.place} {kill.at}: {line}", flush=True)
    if number % 10 == 0:
        print(f"  {number} kills, {time.monotonic() - began:.0f} s", flush=True)


def main() -> int:
    names = [command.name for command in COMMANDS] + list(faults_other.CHECKS)
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    parser.add_argument("--kills", type=int, default=200, help="at random moments, in all")
    parser.add_argument("--every", type=int, default=1, help="take each N-th deed only; 0: none")
    parser.add_argument("--only", default=",".join(names), help=f"of {','.join(names)}")
    parser.add_argument("--seed", type=int, default=4817)
    parser.add_argument("--place", type=Path, help="where to work (default: a temporary folder)")
    parser.add_argument("--json", type=Path, metavar="FILE", help="every kill and every fault")
    arguments = parser.parse_args()
    wanted = arguments.only.split(",")
    if unknown := set(wanted) - set(names):
        parser.error(f"unknown: {', '.join(unknown)}")
    os.nice(10)
    began = time.monotonic()
    with tempfile.TemporaryDirectory(dir=arguments.place) as place:
        material = faults_home.make(Path(place))
        commands = [command for command in COMMANDS if command.name in wanted]
        done: list[Kill] = []
        try:
            for kill in kills(commands, material, arguments.kills, arguments.every, arguments.seed):
                done.append(kill)
                _tell(kill, began, len(done))
        except KeyboardInterrupt:
            print("interrupted; until here:")
        if done:
            print("\n".join(table(done)), flush=True)
        others: dict[str, list[str]] = {}
        for name in (name for name in faults_other.CHECKS if name in wanted):
            others[name] = faults_other.CHECKS[name](material)
            print(f"{name:10} {len(others[name]) or 'nothing'} lost or unclear", flush=True)
            print("".join(f"  FAULT {name}: {line}\n" for line in others[name]), end="", flush=True)
    print(f"{time.monotonic() - began:.0f} s")
    if arguments.json:
        found = {"kills": [kill._asdict() for kill in done], "others": others}
        arguments.json.write_text(json.dumps(found, indent=1))
    bad = Counter(bool(kill.losses or kill.unmended) for kill in done)[True]
    return 1 if bad or any(others.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
