"""A place for one looker: started when it is needed, ended when it takes too long, made anew."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from typing import BinaryIO

from recorder.flows.looking.messages import Message, receive, send

# What a looker needs of the environment; no passphrase is among it.
_KEPT = (
    "PATH", "PYTHONPATH", "PYTHONHOME", "LD_LIBRARY_PATH", "LANG", "LC_ALL", "TMPDIR", "TEMP",
    "TMP", "SYSTEMROOT",
)  # fmt: skip
_ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
_FAREWELL_S = 5.0


class Ended(Exception):
    """The looker gave no answer. late: it was still at work when its time was over."""

    def __init__(self, late: bool) -> None:
        super().__init__("late" if late else "gone")
        self.late = late


class Taken(Exception):
    """Another one sits there, and has not gone in time."""


class Seat:
    """One looker at a time, with one question at a time. memory_bytes: that it may use for a
    picture; cpu_s: of the processor. wall_s: how long an answer is waited for. patience_s: how long
    a caller waits for the one before.
    """

    def __init__(self, memory_bytes: int, cpu_s: float, wall_s: float, patience_s: float) -> None:
        self._memory_bytes, self._cpu_s = memory_bytes, cpu_s
        self.wall_s, self._patience_s = wall_s, patience_s
        self._turn = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None

    def warm(self) -> None:
        """Start the looker, so that the first question does not wait for that."""
        with self._turn:
            self._looker()

    def ask(self, question: Message, patience_s: float | None = None) -> Message:
        """patience_s: another one than usual. Raises Ended, Taken."""
        if not self._turn.acquire(timeout=patience_s or self._patience_s):
            raise Taken
        try:
            return self._ask(question)
        finally:
            self._turn.release()

    def close(self) -> None:
        """End the looker, in the middle of its work too."""
        process = self._process
        if process is not None:
            _end(process)

    def _ask(self, question: Message) -> Message:
        process = self._looker()
        asked, answers = _pipes(process)
        with _ended_after(process, self.wall_s) as late:
            try:
                send(Message({**question.head, "cpu_s": self._cpu_s}, question.body), asked)
                return receive(answers)
            except (OSError, EOFError, ValueError) as error:
                _end(process)
                raise Ended(late.is_set()) from error

    def _looker(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            if self._process is not None:
                _end(self._process)
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", f"{__package__}.looker", str(self._memory_bytes)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={name: os.environ[name] for name in _KEPT if name in os.environ} | _ONE_THREAD,
                start_new_session=True,  # a key that ends the program ends the looker by its pipe
            )
        return self._process


def _pipes(process: subprocess.Popen[bytes]) -> tuple[BinaryIO, BinaryIO]:
    if process.stdin is None or process.stdout is None:
        raise AssertionError("both were asked for")
    return process.stdin, process.stdout  # type: ignore[return-value]


@contextlib.contextmanager
def _ended_after(process: subprocess.Popen[bytes], wall_s: float) -> Iterator[threading.Event]:
    """Ends the process when that time has passed inside; the event tells that it was so."""
    late = threading.Event()

    def end() -> None:
        late.set()
        process.kill()

    timer = threading.Timer(wall_s, end)
    timer.daemon = True
    timer.start()
    try:
        yield late
    finally:
        timer.cancel()


def _end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(_FAREWELL_S)
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with contextlib.suppress(OSError):
                pipe.close()
