"""Commands killed at a moment, at a deed, or by a power cut, and what is left of their work."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from recorder.archive.disk.home import Home
from recorder.archive.jobs import events
from recorder.errors import SeamnoteError
from recorder.flows import archive
from tests.bench import faults_home
from tests.bench.faults_commands import Command
from tests.bench.faults_home import Material
from tests.bench.faults_run import Ran, run, tripped

TRIES = 20


class Undisturbed(NamedTuple):
    """took_s: wall clock. state: of the home afterwards. deeds: all in order, as they were told."""

    took_s: float
    state: dict[str, object]
    deeds: tuple[str, ...]


class Kill(NamedTuple):
    """One command killed once.

    command, place: 'moment', 'deed' or 'power cut', and which. losses: one line each for what had
    been acknowledged or was there before and is not any more. unmended: for what a second run of
    the command does not make as if it had never been killed. faults: how many ``archive check``
    told before that second run. litter: files that stay behind.
    """

    command: str
    place: str
    at: str
    losses: list[str]
    unmended: list[str]
    faults: int
    litter: list[str]


def undisturbed(command: Command, material: Material) -> Undisturbed:
    """The command twice, as it is, and with its deeds told."""
    home = material.copy(getattr(material, command.on))
    log = material.place / "deeds"
    log.unlink(missing_ok=True)
    arguments = command.arguments(home, material)
    faults_home.done(tripped(arguments, home, home.parent, log=log), command.code)
    deeds = tuple(log.read_text().splitlines())
    home = material.copy(getattr(material, command.on))
    ran = faults_home.done(run(arguments, home), command.code)
    if broken := command.broken(home, material, ran):
        raise RuntimeError(f"{command.name} is not what the bench takes it for: {broken}")
    return Undisturbed(ran.took_s, faults_home.state(home), deeds)


def at_moments(
    command: Command, material: Material, known: Undisturbed, count: int, dice: random.Random
) -> Iterator[Kill]:
    """Killed ``count`` times, at moments spread evenly over its usual length."""
    for _ in range(count):
        for _ in range(TRIES):  # until it was not quicker than it is usually
            at_s = dice.uniform(0, known.took_s)
            home = material.copy(getattr(material, command.on))
            before = faults_home.held(home)
            ran = run(command.arguments(home, material), home, at_s)
            if ran.killed:
                break
        else:
            raise RuntimeError(f"{command.name} ended {TRIES} times before it was killed")
        yield aftermath(command, material, known, before, ran, ("moment", f"{at_s:.3f} s"))


def at_deeds(
    command: Command, material: Material, known: Undisturbed, dice: random.Random,
    power_cut: bool = False, every: int = 1,
) -> Iterator[Kill]:  # fmt: skip
    """Killed before each of its deeds, or as in a power cut at each bringing to the disk.

    every: take only each so-manieth.
    """
    numbers = [n for n, told in enumerate(known.deeds, 1) if not power_cut or "fsync" in told]
    for number in numbers[dice.randrange(every) :: every]:
        home = material.copy(getattr(material, command.on))
        before = faults_home.held(home)
        faults: dict[str, object] = {"at": number}
        if power_cut:
            faults["tear"] = dice.randrange(1 << 30)
        ran = tripped(command.arguments(home, material), home, home.parent, **faults)
        if not ran.killed:  # it had fewer deeds this time: waiting for a lock is one
            continue
        kind = "power cut" if power_cut else "deed"
        place = (kind, f"{number} {known.deeds[number - 1]}")
        yield aftermath(command, material, known, before, ran, place)


def aftermath(
    command: Command, material: Material, known: Undisturbed,
    before: dict[str, faults_home.Held], ran: Ran, place: tuple[str, str],
) -> Kill:  # fmt: skip
    """Look at what is left, run the command again, and look once more."""
    home = material.place / "scratch" / "home"
    faults: int = 0
    losses: list[str] = []
    unmended: list[str] = []
    left = before
    try:
        left = faults_home.held(home)
        losses += faults_home.lost(before, left)
        losses += command.broken(home, material, ran)
        if hash(place) % 2:  # a check opens the index, which may mend what the command should
            faults = len(_check(home))
    except (SeamnoteError, OSError) as error:
        losses.append(f"{type(error).__name__}: {error}")
    again = run(command.arguments(home, material), home)
    if again.code != command.code:
        unmended.append(f"the second run ended with {again.code}: {again.last_line()}")
    try:
        losses += faults_home.lost(left, faults_home.held(home))
        unmended += command.broken(home, material, again)
        unmended += _check(home)
        unmended += history_gaps(home)
        if faults_home.state(home) != known.state:
            unmended.append("the result is not that of an undisturbed run")
    except (SeamnoteError, OSError) as error:
        losses.append(f"{type(error).__name__}: {error}")
    litter = faults_home.litter(home)
    return Kill(command.name, *place, losses, unmended, faults, litter)


class Quiet:
    """Progress that nobody watches."""

    def stage(self, text: str) -> None:
        pass

    def share(self, done: float) -> None:
        pass


def _check(home: Path) -> list[str]:
    return list(archive.check(Home(home), Quiet()).faults)


def history_gaps(home: Path) -> list[str]:
    """Readings that do not stand in exactly one event of their job, and chains with a fault."""
    found = []
    for folder, job in faults_home.jobs(home).values():
        chain = events.read(folder.path / "events.jsonl")
        found += [f"{folder.id}: {fault}" for fault in chain.faults]
        told = [event.data["reading"] for event in chain.events if "reading" in event.data]
        held = [reading.model_dump(mode="json") for reading in job.readings]
        gaps = [reading for reading in held if told.count(reading) != held.count(reading)]
        if gaps:
            fields = ", ".join(sorted({str(reading["field"]) for reading in gaps}))
            found.append(f"{folder.id}: other readings in the events: {fields}")
    return found
