"""A real command in a process of its own, watched as on a terminal, and killed when wanted."""

from __future__ import annotations

import os
import pty
import selectors
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PASSPHRASE = "of the fault bench"
PLAIN, TRIPPED = "recorder", "tests.bench.faults_child"


@dataclass(frozen=True)
class Ran:
    """code: as subprocess gives it, -9 when it was killed. out: standard output. shown: what stood
    on the terminal on standard error, with its progress. took_s: wall clock.
    """

    code: int
    out: str
    shown: str
    took_s: float

    @property
    def killed(self) -> bool:
        return self.code == -signal.SIGKILL

    def last_line(self) -> str:
        lines = self.shown.replace("\r", "\n").strip().splitlines()
        return lines[-1] if lines else ""


def environment(home: Path, **more: str) -> dict[str, str]:
    plain = {k: v for k, v in os.environ.items() if not k.startswith(("SEAMNOTE", "FAULT"))}
    return plain | {
        "SEAMNOTE_HOME": str(home),
        "SEAMNOTE_PASSPHRASE": PASSPHRASE,
        "PYTHONPATH": str(ROOT),
        "PYTHONUNBUFFERED": "1",  # a line that was printed was seen
        "OMP_NUM_THREADS": "1",
        **more,
    }  # fmt: skip


class Running:
    """A command that has been started; standard error is a terminal, so that stages show."""

    def __init__(
        self, arguments: Sequence[str], variables: Mapping[str, str], module: str = PLAIN,
        before: Sequence[str] = (),
    ) -> None:  # fmt: skip
        """before: words of a command that starts this one, as ``setpriv --reuid=65534``."""
        self._screen, terminal = pty.openpty()
        self._began = time.monotonic()
        self._child = subprocess.Popen(
            [*before, sys.executable, "-m", module, *arguments],
            cwd=ROOT, env=dict(variables), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=terminal,
        )  # fmt: skip
        os.close(terminal)

    def end(self, kill_after_s: float | None = None) -> Ran:
        """Wait for the end; SIGKILL after so many seconds from the start."""
        assert self._child.stdout
        read: dict[int, bytes] = {self._child.stdout.fileno(): b"", self._screen: b""}
        with selectors.DefaultSelector() as selector:
            for stream in read:
                selector.register(stream, selectors.EVENT_READ)
            while selector.get_map():
                waits_s = None
                if kill_after_s is not None:
                    waits_s = self._began + kill_after_s - time.monotonic()
                    if waits_s <= 0:
                        self._child.kill()
                        kill_after_s = waits_s = None
                for key, _ in selector.select(waits_s):
                    piece = _piece(key.fd)
                    read[key.fd] += piece
                    if not piece:
                        selector.unregister(key.fd)
        code = self._child.wait()
        took_s = time.monotonic() - self._began
        out, shown = (content.decode(errors="replace") for content in read.values())
        self._child.stdout.close()
        os.close(self._screen)
        return Ran(code, out, shown, took_s)


def _piece(stream: int) -> bytes:
    try:
        return os.read(stream, 65536)
    except OSError:  # a terminal whose other end was closed
        return b""


def run(arguments: Sequence[str], home: Path, kill_after_s: float | None = None) -> Ran:
    """``seamnote`` with these arguments, from start to end or until it is killed."""
    return Running(arguments, environment(home)).end(kill_after_s)


def tripped(arguments: Sequence[str], home: Path, place: Path, **faults: object) -> Ran:
    """The same with the faults of ``tests.bench.faults_child``, by their names in small letters."""
    told = {f"FAULT_{name.upper()}": str(value) for name, value in faults.items()}
    return Running(arguments, environment(home, FAULT_PLACE=str(place), **told), TRIPPED).end()
