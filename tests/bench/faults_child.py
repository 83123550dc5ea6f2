"""A command that dies at a chosen deed or lives by a chosen clock, for the fault bench.

``python -m tests.bench.faults_child ARGUMENTS`` does what ``seamnote ARGUMENTS`` does. A *deed* is
what can change the disk: a file opened for writing, brought to the disk, renamed or removed, a
folder made or removed, a transaction of SQLite begun or committed. Deeds in the folder FAULT_PLACE
are counted, and told in the file FAULT_LOG where one is named. Variables of the environment:

FAULT_AT: the process kills itself with SIGKILL just before the deed of this number.
FAULT_TEAR: where that deed brings a file to the disk, the file first loses a part of what was
written since it was opened or last brought there, as in a power cut; the number is a seed.
FAULT_CLOCK_S: by how many seconds the clock of the program is fast. The system's own clock, and so
the times of files, stay as they are.
"""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import sqlite3.dbapi2
import sys
from datetime import datetime, timedelta, tzinfo
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import ModuleType
from typing import Any

WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
# https://docs.python.org/3/library/audit_events.html; os.replace tells itself as os.rename
PATHS_CHANGED = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.truncate", "os.link"}
TRANSACTIONS = ("BEGIN", "COMMIT")


class Tripwire:
    """Counts deeds below ``place`` and kills the process before deed ``at``; 0: never."""

    def __init__(self, place: Path, at: int, tear: int | None, log: Path | None) -> None:
        self.place, self.at, self.count = place.resolve(), at, 0
        self.dice = None if tear is None else random.Random(tear)
        self.log = log and log.open("a")
        self.on_disk: dict[Path, int] = {}  # bytes that a power cut leaves
        self.real_fsync = os.fsync

    def set(self) -> None:
        connect = sqlite3.connect

        def traced(*arguments: Any, **named: Any) -> sqlite3.Connection:
            connection = connect(*arguments, **named)
            connection.set_trace_callback(self.statement)
            return connection

        sqlite3.connect = sqlite3.dbapi2.connect = traced
        os.fsync = self.fsync
        sys.addaudithook(self.hear)

    def hear(self, event: str, arguments: tuple[Any, ...]) -> None:
        if event == "open":
            path, _, flags = arguments
            if isinstance(flags, int) and flags & WRITING and isinstance(path, str | Path):
                self.opened(Path(path).absolute(), flags)
        elif event in PATHS_CHANGED:
            self.deed(event, Path(os.fsdecode(arguments[0])).absolute())

    def opened(self, path: Path, flags: int) -> None:
        self.deed("open", path)
        try:
            self.on_disk[path.resolve()] = 0 if flags & os.O_TRUNC else path.stat().st_size
        except OSError:
            self.on_disk[path.resolve()] = 0

    def statement(self, text: str) -> None:
        if text.startswith(TRANSACTIONS):
            self.deed(text.partition(" ")[0], self.place / "SQLite")

    def fsync(self, handle: Any) -> None:
        number = handle if isinstance(handle, int) else handle.fileno()
        path = Path(f"/proc/self/fd/{number}").readlink()
        self.deed("fsync", path)
        self.real_fsync(handle)
        self.on_disk[path] = os.fstat(number).st_size

    def deed(self, name: str, path: Path) -> None:
        if not path.is_relative_to(self.place):
            return
        self.count += 1
        if self.log:
            print(name, path.relative_to(self.place), file=self.log, flush=True)
        if self.count == self.at:
            if self.dice and name == "fsync" and path.is_file():
                lasting = self.on_disk[path]
                os.truncate(path, self.dice.randrange(lasting, path.stat().st_size + 1))
            os.kill(os.getpid(), signal.SIGKILL)


class _Instances(type):
    def __instancecheck__(cls, instance: object) -> bool:
        return isinstance(instance, datetime)


def set_clock(seconds: float) -> None:
    """Let every module of the program that is loaded from now on ask another clock."""
    fast = timedelta(seconds=seconds)

    class Clock(datetime, metaclass=_Instances):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Any:
            return datetime.now(tz) + fast

    load = SourceFileLoader.exec_module

    def exec_module(loader: SourceFileLoader, module: ModuleType) -> None:
        load(loader, module)
        if module.__name__.startswith("recorder.") and vars(module).get("datetime") is datetime:
            module.datetime = Clock

    SourceFileLoader.exec_module = exec_module


def main() -> int:
    told = os.environ
    if clock_s := float(told.get("FAULT_CLOCK_S", 0)):
        set_clock(clock_s)
    log, tear = told.get("FAULT_LOG"), told.get("FAULT_TEAR")
    Tripwire(
        Path(told["FAULT_PLACE"]),
        int(told.get("FAULT_AT", 0)),
        int(tear) if tear else None,
        Path(log) if log else None,
    ).set()
    from recorder.cli import main as command

    return command()


if __name__ == "__main__":
    sys.exit(main())
