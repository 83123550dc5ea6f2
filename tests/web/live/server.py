"""A real server in a process of its own: ``python -m tests.web.live.server HOME PORT``.

Without --hears nothing is recognised, and sound is kept as ever; without --speaks it has no voice.
"""

from __future__ import annotations

import argparse
import functools
import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.flows.identity import KEY_FILE
from recorder.flows.live.sessions import Sessions
from recorder.model.software import Software
from recorder.report.identity import identity
from recorder.settings import ReportSettings, Settings, SpeakingSettings
from recorder.voice.live import Pending
from recorder.web import serving
from recorder.web.access import inviting
from recorder.web.access.access import Access
from recorder.web.access.places import Places

PATIENCE_S = 30
FIRM = ReportSettings(firm="Quillback Belt Service", technician="Imke Dorn")
QUICK = SpeakingSettings(words_per_minute=300)  # a test waits until the recorder has spoken


class Deaf:
    """Hears nothing; what it is fed counts as heard."""

    speaking = False

    def listening(
        self, rate_hz: int, prompt: Callable[[], str], early: Callable[[str], None], at: int
    ) -> Deaf:
        return self

    def feed(self, pcm: bytes) -> list[Pending]:
        return []

    def finish(self) -> list[Pending]:
        return []

    def mute(self, start: int, end: int | None = None) -> None:
        pass

    def unmute(self, end: int) -> None:
        pass

    def stop(self) -> None:
        pass

    def model(self) -> str:
        return "none"

    def software(self) -> tuple[Software, ...]:
        return ()

    def close(self) -> None:
        pass


class Server:
    """Started and ended by a test, and killed where that is the subject."""

    def __init__(
        self,
        home: Path,
        *,
        hears: bool = False,
        speaks: bool = False,
        signs: bool = False,
        behind: int = 0,
    ) -> None:
        """behind: the port at which browsers reach it, where a cable of the test lies between."""
        self.home, self.port = home, free_port()
        self._more = ["--behind", str(behind or self.port)]
        self._more += ["--hears"] * hears + ["--speaks"] * speaks + ["--signs"] * signs
        self.start()

    def start(self) -> None:
        self._child = subprocess.Popen(
            [sys.executable, "-m", __name__, str(self.home), str(self.port), *self._more],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._child.stdout is not None
        self.invitation = self._child.stdout.readline().strip()
        assert self.invitation.startswith("http://"), "the server has not begun"
        self._answers()

    def _answers(self) -> None:
        ends_s = time.monotonic() + PATIENCE_S
        while time.monotonic() < ends_s:
            try:
                asked = http.client.HTTPConnection("localhost", self.port, timeout=5)
                asked.request("GET", "/static/look.css")
                asked.getresponse()
                return
            except OSError:
                time.sleep(0.02)
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        self._child.kill()
        self._child.wait()

    def end(self) -> None:
        if self._child.poll() is None:
            self._child.send_signal(signal.SIGINT)
            try:
                self._child.wait(PATIENCE_S)
            except subprocess.TimeoutExpired:
                self.kill()
                raise


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _end_with_the_test() -> None:
    """However that ended: its end of the pipe is closed then."""
    sys.stdin.read()
    os._exit(1)


def main() -> None:
    threading.Thread(target=_end_with_the_test, daemon=True).start()
    parser = argparse.ArgumentParser()
    parser.add_argument("home", type=Path)
    parser.add_argument("port", type=int)
    parser.add_argument("--hears", action="store_true")
    parser.add_argument("--speaks", action="store_true")
    parser.add_argument("--signs", action="store_true")
    parser.add_argument("--behind", type=int)
    asked = parser.parse_args()
    home = Home.open(asked.home)
    settings = Settings(report=FIRM, speaking=QUICK)
    key = None
    if asked.signs:
        file = home.identity / KEY_FILE
        key = identity.create(file, "throw-away", FIRM.technician, FIRM.firm, demo=True)
    if not asked.hears:
        serving.Sessions = functools.partial(Sessions, hears=Deaf())  # type: ignore[assignment,misc]
    if not asked.speaks:
        settings = Settings(report=FIRM, speaking=SpeakingSettings(engine="none"))

    serving.Places = lambda _: Places(asked.behind)  # type: ignore[assignment,misc]

    def ready(access: Access) -> None:
        print(inviting.on_this_machine(access), flush=True)

    serving.serve(home, settings, key, asked.port, False, lambda line: None, ready)


if __name__ == "__main__":
    main()
