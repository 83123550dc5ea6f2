"""A disk that is full, and a home that is read-only."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.bench import faults_home, faults_kill
from tests.bench.faults_commands import COMMANDS, Command
from tests.bench.faults_home import Material
from tests.bench.faults_run import ROOT, Ran, Running, environment, run

FREE_KB = (0, 4, 16, 60, 250, 1000)
FEW_KB = (0, 250, 1000)  # for a command that takes long
INSIDE = "BENCH_IN_NAMESPACE"  # set for the bench in a name space of its own, where it may mount
AS_NOBODY = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"]
# What only reads, and what writes, each with what else it is called with.
READING = (["search"], ["show", "4818"], ["archive", "check"], ["confirm", "4818", "--json"])
WRITING = (
    ["confirm", "4818", "--accept=pressure"], ["report", "4818"], ["archive", "rebuild"],
)  # fmt: skip


def full(material: Material) -> list[str]:
    """Each command with less and less room on a small file system of its own."""
    place = material.place / "small"
    place.mkdir(exist_ok=True)
    if not _may_mount(place):
        return _in_a_name_space("full")
    found: list[str] = []
    for command in COMMANDS:
        known = faults_kill.undisturbed(command, material)
        with _mounted(place, "size=40m"):
            small = Material(place, material.source, material.before, material.after)
            refused = 0
            sizes = FEW_KB if known.took_s > 4 else FREE_KB
            for free_kb in sizes:
                lines, ran = _with_room(command, small, known, free_kb)
                refused += ran.code != command.code
                found += [f"{command.name} with {free_kb} KB: {line}" for line in lines]
            print(f"  full: {command.name} refused in {refused} of {len(sizes)}", flush=True)
    return found


def _with_room(
    command: Command, material: Material, known: faults_kill.Undisturbed, free_kb: int
) -> tuple[list[str], Ran]:
    home = material.copy(getattr(material, command.on))
    before = faults_home.held(home)
    filler = material.place / "filler"
    stat = os.statvfs(material.place)
    filler.write_bytes(bytes(max(0, stat.f_bavail * stat.f_frsize - free_kb * 1024)))
    ran = run(command.arguments(home, material), home)
    found = [] if ran.code in (3, command.code) else [f"exit code {ran.code}"]
    found += one_line(ran)
    filler.unlink()
    kill = faults_kill.aftermath(command, material, known, before, ran, ("full", ""))
    return found + kill.losses + kill.unmended + [f"left {path}" for path in kill.litter], ran


def one_line(ran: Ran) -> list[str]:
    """What is wrong with how a command told that it could not."""
    lines = [line for line in ran.shown.replace("\r", "\n").splitlines() if "seamnote:" in line]
    if "Traceback" in ran.shown + ran.out or "unforeseen" in ran.shown:
        return [f"not foreseen: {ran.last_line()}"]
    return [] if ran.code in (0, 4) or len(lines) >= 1 else [f"no clear line: {ran.shown!r}"]


def readonly(material: Material) -> list[str]:
    """A read-only file system, and a home that belongs to somebody else."""
    place = material.place / "readonly"
    place.mkdir(exist_ok=True)
    if not _may_mount(place):
        return _in_a_name_space("readonly")
    with _mounted(place, "size=40m"):
        home = Material(place, material.source, material.before, material.after).copy(
            material.after
        )
        options = ["mount", "-o", "remount,ro", str(place)]
        subprocess.run(options, check=True)
        found = _only_read(home, "read-only disk", [])
    home = material.copy(material.after)
    with let_only_read(home):
        as_nobody = AS_NOBODY if os.geteuid() == 0 else []
        return found + _only_read(home, "somebody else's home", as_nobody)


@contextlib.contextmanager
def let_only_read(home: Path) -> Iterator[None]:
    """Inside, everybody may read the home, and nobody but root may write into it."""
    temporary = Path(tempfile.gettempdir())
    for folder in home.parents:
        if folder != temporary and folder.is_relative_to(temporary):
            folder.chmod(0o755)
    everything = (home, *home.rglob("*"))
    for path in everything:
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        yield
    finally:
        for path in everything:
            path.chmod(0o755 if path.is_dir() else 0o644)


def _only_read(home: Path, where: str, before: list[str]) -> list[str]:
    held = faults_home.held(home)
    found: list[str] = []
    for arguments in (*READING, *WRITING):
        ran = Running(arguments, environment(home), before=before).end()
        told = f"{where}, {' '.join(arguments)}"
        print(f"  {told}: {ran.code} {ran.last_line()}", flush=True)
        allowed = (0, 3, 4) if arguments in READING else (3,)
        if ran.code not in allowed:
            found.append(f"{told}: exit code {ran.code}: {ran.last_line()}")
        found += [f"{told}: {line}" for line in one_line(ran)]
    if faults_home.held(home) != held:
        found.append(f"{where}: something was changed")
    return found


def _may_mount(place: Path) -> bool:
    try:
        with _mounted(place, "size=1m"):
            return True
    except subprocess.CalledProcessError:
        return False


@contextlib.contextmanager
def _mounted(place: Path, options: str) -> Iterator[None]:
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)]
    subprocess.run(command, check=True, capture_output=True)
    try:
        yield
    finally:
        subprocess.run(["umount", str(place)], check=True)


def _in_a_name_space(name: str) -> list[str]:
    """The same check by another bench, in a name space in which everybody may mount."""
    if os.environ.get(INSIDE):
        return ["nothing can be mounted here, not even in a name space"]
    print(f"  {name}: no right to mount; in a name space by 'unshare -rm'", flush=True)
    command = ["unshare", "-rm", sys.executable, "-m", "tests.bench.faults", "--only", name]
    done = subprocess.run(command, cwd=ROOT, env={**os.environ, INSIDE: "1"}, check=False)
    return [] if done.returncode == 0 else [f"it ended with {done.returncode}, see above"]
