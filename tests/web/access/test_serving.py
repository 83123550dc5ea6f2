"""The command: serves until it is told to stop, and says what a person must know."""

from __future__ import annotations

import errno
import io
import json
import logging
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from recorder.cli import main
from recorder.errors import PortTaken
from recorder.web import listening
from recorder.web.running import failures_told

STARTS_WITHIN_S = 120
LOGGED = re.compile(r"seamnote: \d{4}-\d\d-\d\d \d\d:\d\d:\d\d[+-]\d\d:\d\d (.*)")
Captured = pytest.CaptureFixture[str]


def free_port() -> int:
    """Of a pair of ports, the second of which is free for a guide."""
    with listening.on_address("127.0.0.1", 0) as first:
        return listening.port_of(first)


def command(home: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "recorder", "serve", "--home", str(home), *more]


def environment() -> dict[str, str]:
    mine = {k: v for k, v in os.environ.items() if k not in ("SEAMNOTE_PASSPHRASE", "DISPLAY")}
    return {**mine, "PYTHON_KEYRING_BACKEND": "keyring.backends.fail.Keyring"}


class Running:
    """A server in a process of its own, and what it printed when it was ready."""

    def __init__(self, home: Path, *more: str) -> None:
        self._errors = home.with_suffix(".log")
        with self._errors.open("w") as errors:
            self.process = subprocess.Popen(
                command(home, *more), env=environment(), stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE, stderr=errors, text=True,
            )  # fmt: skip
        assert self.process.stdout
        self.first = self.process.stdout.readline()

    @property
    def told(self) -> list[str]:
        """The lines on its standard error so far."""
        return self._errors.read_text().splitlines()

    def end(self, how: signal.Signals = signal.SIGINT) -> tuple[int, str]:
        self.process.send_signal(how)
        assert self.process.stdout
        out = self.process.stdout.read()
        return self.process.wait(STARTS_WITHIN_S), out


def run(home: Path, *more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command(home, *more), env=environment(), stdin=subprocess.DEVNULL, capture_output=True,
        text=True, timeout=STARTS_WITHIN_S, check=False,
    )  # fmt: skip


def pair(address: str, name: str) -> str:
    """The cookie of a browser that opened this address and pressed the button."""
    place, _, token = address.partition("/pair#")
    asked = urllib.request.Request(
        f"{place}/pair", f"code={token}&name={name}".encode(), {"Origin": place}
    )
    with pytest.raises(urllib.error.HTTPError) as answer:
        urllib.request.build_opener(_Stay).open(asked, timeout=20)
    assert answer.value.code == 303
    return str(answer.value.headers["set-cookie"]).partition(";")[0]


class _Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_: object) -> None:  # type: ignore[override]
        return None


def get(address: str, cookie: str) -> int:
    asked = urllib.request.Request(address, headers={"Cookie": cookie})
    try:
        with urllib.request.urlopen(asked, timeout=20) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        return error.code


@pytest.fixture
def no_secrets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody can be asked for a passphrase, and nothing holds one."""
    monkeypatch.delenv("SEAMNOTE_PASSPHRASE", raising=False)
    monkeypatch.setattr("sys.stdin", io.StringIO())


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("serving") / "home"


@pytest.fixture(scope="module")
def server(home: Path) -> Iterator[tuple[Running, str]]:
    port = free_port()
    running = Running(home, "--port", str(port), "--json")
    yield running, f"http://localhost:{port}"
    assert running.end() == (0, "")
    assert not re.search(r"[a-z2-7]{32}|Traceback", "\n".join(running.told))


def test_a_program_learns_where_it_is(server: tuple[Running, str]) -> None:
    running, place = server
    said = json.loads(running.first)
    assert re.fullmatch(re.escape(place) + r"/pair#[a-z2-7]{32}", said["address"])
    assert said["lan"] is None
    assert place in said["origins"]
    assert running.told[0].startswith("seamnote: the signing key needs a passphrase; set SEAMNOTE")
    assert "reports stay drafts" in running.told[0]


def test_it_pairs_lists_and_revokes_also_by_command(
    server: tuple[Running, str], home: Path
) -> None:
    running, place = server
    cookie = pair(json.loads(running.first)["address"], "Van+tablet")
    assert get(f"{place}/", cookie) == 200
    assert get(f"{place}/", "a=b") == 401
    listed = run(home, "--devices", "--json")
    told = json.loads(listed.stdout)
    assert (told["number"], told["name"]) == (1, "Van tablet")
    assert "digest" not in told
    invited = run(home, "--invite", "--port", place.rpartition(":")[2])
    second = pair(invited.stdout.strip(), "Phone")
    revoked = run(home, "--revoke", "1")
    assert (revoked.returncode, revoked.stdout) == (0, "Revoked 1: Van tablet\n")
    assert get(f"{place}/", cookie) == 401
    assert get(f"{place}/", second) == 200
    again = run(home, "--revoke", "1")
    assert (again.returncode, again.stderr.count("\n")) == (2, 1)
    log = [LOGGED.fullmatch(line) for line in running.told[1:]]
    happened = [each[1] if each else "" for each in log]
    assert happened[:2] == ["paired device 1", "refused a request of an unpaired device"]
    assert "" not in happened


def test_a_port_that_is_taken_is_told_in_a_line(
    server: tuple[Running, str], tmp_path: Path, no_secrets: None, capsys: Captured
) -> None:
    _, place = server
    assert main(["serve", "--home", str(tmp_path), "--port", place.rpartition(":")[2]]) == 3
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.splitlines()[-1].endswith(
        "choose another with --port, or end the program that uses it"
    )


def test_both_loopback_addresses_are_held_or_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """On the other one, a program of another user could pose as this server."""
    opened: list[str] = []
    taken = PortTaken(port=8750, address="::1", detail="in use")

    def on_address(address: str, port: int) -> socket.socket:
        opened.append(address)
        if address == "::1":
            raise taken
        return real(address, port)

    real = listening.on_address
    monkeypatch.setattr(listening, "on_address", on_address)
    with pytest.raises(PortTaken):
        listening.on_this_machine(0)
    assert opened == ["127.0.0.1", "::1"]


@pytest.mark.parametrize("number", [errno.EADDRNOTAVAIL, errno.EAFNOSUPPORT])
def test_a_machine_without_the_other_one_serves_from_the_first(
    monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def on_address(address: str, port: int) -> socket.socket:
        if address == "::1":
            try:
                raise OSError(number, "no IPv6 here")
            except OSError as error:
                raise PortTaken(port=port, address=address, detail="no IPv6") from error
        return real(address, port)

    real = listening.on_address
    monkeypatch.setattr(listening, "on_address", on_address)
    (only,) = listening.on_this_machine(0)
    only.close()


def test_for_people_it_says_how_to_go_on(tmp_path: Path) -> None:
    port = free_port()
    running = Running(tmp_path / "home", "--port", str(port))
    code, out = running.end(signal.SIGTERM)
    assert code == 0
    assert running.first.startswith(f"On this machine       http://localhost:{port}/pair#")
    assert "Ctrl-C ends" in out
    assert out.endswith("ended; what was recorded is kept\n")
    assert len(running.told) == 1


@pytest.mark.parametrize("port", ["0", "65535", "70000", "-1", "x", "٣"])
def test_a_port_is_a_number(tmp_path: Path, port: str, capsys: Captured) -> None:
    assert main(["serve", "--home", str(tmp_path), f"--port={port}"]) == 2
    assert "is not a whole number from 1 to 65534" in capsys.readouterr().err


def test_what_nobody_foresaw_is_told_in_a_line(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    monkeypatch.delenv("SEAMNOTE_DEBUG", raising=False)
    with failures_told(told.append):
        try:
            raise ZeroDivisionError("in\na page")
        except ZeroDivisionError as error:
            logging.getLogger("uvicorn.error").error("Exception in ASGI", exc_info=error)
        logging.getLogger("uvicorn.error").warning("Invalid HTTP request received.")
    assert told == ["unforeseen: ZeroDivisionError: in a page; please report this"]


def test_a_damaged_list_of_devices_stops_the_start(
    tmp_path: Path, no_secrets: None, capsys: Captured
) -> None:
    (tmp_path / "access").mkdir(mode=0o700)
    (tmp_path / "access" / "devices.json").write_text("{")
    assert main(["serve", "--home", str(tmp_path), "--port", str(free_port())]) == 3
    assert "move it away and pair the devices anew" in capsys.readouterr().err
