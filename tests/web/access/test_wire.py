"""What only shows on the wire: heads byte by byte, smuggled requests, frames that are too large."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Iterator

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import ClientConnection, connect

from recorder.archive.disk.home import Home
from recorder.flows.live.sessions import Sessions
from recorder.settings import Settings
from recorder.web import connections, listening
from recorder.web.access import limits
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.house import House
from tests.web.serving import served


class Wire:
    """A server, and one device that is paired with it."""

    def __init__(self, home: Home) -> None:
        with listening.on_address("127.0.0.1", 0) as free:
            self.port = listening.port_of(free)
        self.access = Access(home, Places(self.port))
        _, own = self.access.pair(self.access.invite(), "Tablet", "")
        self.cookie = f"{self.access.cookie}={own}"
        self.sessions = Sessions(home, Settings(), None)
        self.app = application(House(home, Settings(), None, self.sessions, self.access))
        self.job = self.sessions.begin().job_id

    def say(self, text: bytes) -> bytes:
        """All that comes back on one connection, until the server closes it."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=20) as sock:
            sock.sendall(text)
            answer = b""
            while piece := sock.recv(65536):
                answer += piece
        return answer

    @property
    def head(self) -> bytes:
        return (
            f"Host: localhost:{self.port}\r\nCookie: {self.cookie}\r\nConnection: close\r\n"
        ).encode()


@pytest.fixture(scope="module")
def wire(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Wire]:
    made = Wire(Home.open(tmp_path_factory.mktemp("wire") / "home"))
    with served(made.app, made.port):
        yield made
    made.sessions.close()


def status(answer: bytes) -> int:
    return int(answer.split(b" ", 2)[1])


def test_a_paired_device_is_answered(wire: Wire) -> None:
    answer = wire.say(b"GET /devices HTTP/1.1\r\n" + wire.head + b"\r\n")
    assert status(answer) == 200
    assert b"\r\nserver:" not in answer.lower()


@pytest.mark.parametrize(
    "target",
    [b"/live/..", b"/jobs/../../settings.toml", b"/static/../app.py", b"/static/..%2fapp.py",
     b"//evil.example/", b"/jobs/\\..\\..", b"/%2e%2e/%2e%2e/etc/passwd", b"/a;/../b"],
)  # fmt: skip
def test_paths_that_a_browser_would_never_send(wire: Wire, target: bytes) -> None:
    answer = wire.say(b"GET " + target + b" HTTP/1.1\r\n" + wire.head + b"\r\n")
    assert status(answer) in {400, 404}


@pytest.mark.parametrize(
    "head",
    [b"Host: localhost\r\nHost: evil.example\r\n", b"", b"Host: localhost:1 evil\r\n"],
)
def test_a_request_names_one_place(wire: Wire, head: bytes) -> None:
    rest = f"Cookie: {wire.cookie}\r\nConnection: close\r\n".encode()
    assert status(wire.say(b"GET / HTTP/1.1\r\n" + head + rest + b"\r\n")) in {400, 421}


def test_no_second_request_hides_in_a_body(wire: Wire) -> None:
    """RFC 9112, 6.1 and 6.3: a message with both lengths may be an attempt at smuggling."""
    hidden = b"GET /devices HTTP/1.1\r\n" + wire.head + b"\r\n"
    both = (
        b"POST /pair HTTP/1.1\r\n" + wire.head
        + f"Origin: http://localhost:{wire.port}\r\n".encode()
        + b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + hidden
    )  # fmt: skip
    two = (
        b"POST /pair HTTP/1.1\r\n" + wire.head
        + b"Content-Length: 0\r\nContent-Length: 50\r\n\r\n" + hidden
    )  # fmt: skip
    for each in (both, two):
        answer = wire.say(each)
        assert status(answer) == 400
        assert b"Paired" not in answer
    odd = b"POST / HTTP/1.1\r\n" + wire.head + b"Transfer-Encoding: xchunked\r\n\r\n"
    assert status(wire.say(odd)) in {400, 501}


def test_a_head_has_an_end(wire: Wire) -> None:
    long = b"GET / HTTP/1.1\r\n" + wire.head + b"X: " + b"a" * 40_000  # and on
    assert status(wire.say(long)) == 400


def test_headers_for_proxies_change_nothing(wire: Wire) -> None:
    forged = (
        b"X-Forwarded-Host: evil.example\r\nX-Forwarded-Proto: https\r\nX-Forwarded-For: ::1\r\n"
    )
    answer = wire.say(b"GET /devices HTTP/1.1\r\n" + wire.head + forged + b"\r\n")
    assert status(answer) == 200
    alone = b"Host: evil\r\nX-Forwarded-Host: localhost:" + str(wire.port).encode()
    alone += b"\r\nConnection: close\r\n"
    assert status(wire.say(b"GET /devices HTTP/1.1\r\n" + alone + b"\r\n")) == 421


def test_a_head_that_comes_byte_by_byte_is_given_up(
    wire: Wire, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "HEAD_S", 0.2)
    for begin in (b"", b"GET / HTTP/1.1\r\nHost: loc"):
        with socket.create_connection(("127.0.0.1", wire.port), timeout=20) as slow:
            slow.sendall(begin)
            assert slow.recv(100) == b""  # closed, or reset


def test_one_address_does_not_take_all_connections(
    wire: Wire, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "MOST_FROM_ONE", 5)
    opened = [socket.create_connection(("127.0.0.1", wire.port), timeout=20) for _ in range(8)]
    try:
        closed = 0
        for each in opened[5:]:
            try:
                closed += each.recv(1) == b""
            except ConnectionResetError:
                closed += 1
        assert closed == 3
    finally:
        for each in opened:
            each.close()


def test_who_connects_and_says_nothing_is_counted_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before TLS has begun, no server knows of a connection, and each costs memory."""
    monkeypatch.setattr(listening, "MOST_FROM_ONE", 2)
    with contextlib.ExitStack() as stack:
        door = stack.enter_context(listening.on_address("127.0.0.1", 0))

        def come(address: str) -> socket.socket:
            came = stack.enter_context(socket.socket())
            came.settimeout(20)
            came.bind((address, 0))
            came.connect(door.getsockname())
            return came

        def admit() -> socket.socket:
            return stack.enter_context(door.accept()[0])

        come("127.0.0.1")
        inside = admit()
        come("127.0.0.1")
        admit()
        third = come("127.0.0.1")
        with pytest.raises(ConnectionAbortedError):
            door.accept()
        assert third.recv(1) == b""
        come("127.0.0.2")  # another one's share is its own
        admit()
        inside.close()
        come("127.0.0.1")
        admit()
        monkeypatch.setattr(listening, "MOST_OPEN", 3)
        come("127.0.0.3")
        with pytest.raises(ConnectionAbortedError):
            door.accept()


def joined(wire: Wire, **headers: str) -> dict[str, object]:
    place = f"http://localhost:{wire.port}"
    given = {"Cookie": wire.cookie, "Origin": place, **headers}
    return {
        "additional_headers": {k: v for k, v in given.items() if k != "Origin"},
        "origin": given["Origin"],
        "sock": socket.create_connection(("127.0.0.1", wire.port), timeout=20),
    }


def test_a_socket_is_for_a_paired_device_and_its_own_page(wire: Wire) -> None:
    address = f"ws://localhost:{wire.port}/live/{wire.job}/socket?page={'0' * 32}"
    with connect(address, **joined(wire)) as live:  # type: ignore[arg-type]
        assert live.recv(20)
    for wrong in ({"Cookie": "a=b"}, {"Origin": "http://evil.example"}, {"Origin": "null"}):
        with pytest.raises(InvalidStatus) as refused:
            connect(address, **joined(wire, **wrong))  # type: ignore[arg-type]
        assert refused.value.response.status_code == 403


def drain(live: ClientConnection) -> None:
    while True:
        live.recv(20)


def test_a_frame_beyond_the_limit_closes_the_socket(wire: Wire) -> None:
    address = f"ws://localhost:{wire.port}/live/{wire.job}/socket?page={'1' * 32}"
    with connect(address, **joined(wire)) as live:  # type: ignore[arg-type]
        live.send(b"x" * (limits.LARGEST_MESSAGE + 1))
        with pytest.raises(ConnectionClosed) as closed:
            drain(live)
        assert closed.value.rcvd is not None
        assert closed.value.rcvd.code == 1009


def test_nothing_grows_with_refused_requests(wire: Wire) -> None:
    before = len(threading.enumerate())
    for n in range(50):
        host = f"Host: localhost:{wire.port}\r\nConnection: close\r\n\r\n"
        wire.say(f"GET /jobs/{n} HTTP/1.1\r\n{host}".encode())
    assert len(threading.enumerate()) <= before + 2
    assert len(wire.access.guesses._tries) <= 1
    assert len(wire.access.told._told_s) <= 12
