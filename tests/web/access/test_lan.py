"""On the network: https with certificates that fit, the guide beside it, and another network."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import ssl
from collections.abc import AsyncIterator, Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from recorder.archive.disk.home import Home
from recorder.errors import AuthorityDamaged, NoNetwork
from recorder.web import lan, listening
from recorder.web.access import authority, inviting, networks
from recorder.web.access.access import Access
from recorder.web.access.authority import open_or_make, server_certificate
from recorder.web.access.places import Places
from recorder.web.app import Application
from recorder.web.house import House
from recorder.web.lan import Lan

NOT_GUIDED = (
    "/pair", "/devices", "/jobs", "/static/pair.js", "/access/authority.pem", "/static/..%2fapp.py",
)  # fmt: skip
NAMES = ("10.1.2.3", "[fd00::7]", networks.host_name())


def held(path: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate(path.read_bytes())


def test_the_authority_stays_and_the_certificate_follows_the_addresses(home: Home) -> None:
    first = open_or_make(home.root)
    path = server_certificate(home.root, NAMES)
    before = path.read_bytes()
    assert server_certificate(home.root, NAMES[::-1]).read_bytes() == before
    assert server_certificate(home.root, ("10.1.2.4",)).read_bytes() != before
    assert open_or_make(home.root).fingerprint == first.fingerprint
    for name in ("authority.pem", "server.pem"):
        assert (home.root / "access" / name).stat().st_mode & 0o777 == 0o600


def test_a_certificate_near_its_end_is_made_anew(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    above = open_or_make(home.root)
    path = home.root / "access" / "server.pem"
    long_ago = datetime.now(UTC) - authority.SERVER_VALID_FOR + timedelta(days=29)
    path.write_bytes(above.issue(NAMES, long_ago))
    assert held(server_certificate(home.root, NAMES)).not_valid_before_utc > long_ago
    path.write_bytes(b"damaged")
    assert held(server_certificate(home.root, NAMES))


def test_an_authority_near_its_end_is_followed_by_another(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(authority, "VALID_FOR", timedelta(days=31))
    first = open_or_make(home.root)
    server_certificate(home.root, NAMES)
    monkeypatch.setattr(authority, "VALID_FOR", timedelta(days=3650))
    second = open_or_make(home.root)
    assert second.fingerprint != first.fingerprint
    found = held(server_certificate(home.root, NAMES))
    found.verify_directly_issued_by(x509.load_der_x509_certificate(second.certificate))


def test_a_damaged_authority_is_told(home: Home) -> None:
    open_or_make(home.root)
    (home.root / "access" / "authority.pem").write_text("-----BEGIN NONSENSE-----")
    with pytest.raises(AuthorityDamaged):
        open_or_make(home.root)


def test_it_vouches_for_private_addresses_and_its_own_name_alone(home: Home) -> None:
    asked = (
        *NAMES,
        "8.8.8.8",
        "example.com",
        "[2001:db8::1]",
        "localhost",
        "127.0.0.1",
        "other.local",
    )
    permitted = open_or_make(home.root).permitted(asked)
    assert permitted == (*NAMES, "localhost", "127.0.0.1")


@pytest.mark.parametrize(
    ("address", "private"),
    [
        ("10.0.0.1", True), ("172.16.0.1", True), ("172.32.0.1", False), ("192.168.1.5", True),
        ("169.254.3.4", True), ("8.8.8.8", False), ("127.0.0.1", False), ("fd00::1", True),
        ("2001:db8::1", False), ("fe80::1%eth0", False), ("fe80::1", False), ("x", False),
    ],
)  # fmt: skip
def test_which_addresses_are_private(address: str, private: bool) -> None:
    assert networks.is_private(address) is private


def test_the_usual_way_out_comes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    given = [("docker0", "172.17.0.1"), ("wlan0", "192.168.7.20"), ("wlan0", "203.0.113.9"),
             ("eth9", "10.9.9.9")]  # fmt: skip

    class One:
        def __init__(self, address: str) -> None:
            self.family, self.address = socket.AF_INET, address

    class State:
        isup = True

    class Down:
        isup = False

    monkeypatch.setattr(
        networks.psutil, "net_if_addrs",
        lambda: {name: [One(a) for n, a in given if n == name] for name, _ in given},
    )  # fmt: skip
    states = {"docker0": State(), "wlan0": State(), "eth9": Down()}
    monkeypatch.setattr(networks.psutil, "net_if_stats", lambda: states)
    monkeypatch.setattr(networks, "_usual", lambda: "192.168.7.20")
    assert networks.addresses() == ("192.168.7.20", "172.17.0.1")
    monkeypatch.setattr(networks, "_usual", lambda: "")  # a network that leads nowhere
    assert networks.addresses() == ("192.168.7.20", "172.17.0.1")
    assert networks.names() == ("192.168.7.20", "172.17.0.1", networks.host_name())


@pytest.mark.parametrize(
    ("called", "name"),
    [("Imkes Van.firm.example", "imkesvan"), ("Bänder", "bnder"), ("--", "seamnote"),
     ("x" * 80, "x" * 63)],
)  # fmt: skip
def test_a_host_name_is_one_that_can_stand_in_a_certificate(
    monkeypatch: pytest.MonkeyPatch, called: str, name: str
) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: called)
    assert networks.host_name() == f"{name}.local"


def test_without_a_network_it_says_so(
    app: Application, house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(networks, "addresses", lambda: ())
    with pytest.raises(NoNetwork):
        Lan(house.home.root, app, house.access).open()
    with pytest.raises(NoNetwork):
        inviting.on_the_network(house.access)


class Network:
    """A server on addresses that a test chooses; all of them lead to this machine."""

    def __init__(self, app: Application, house: House, found: list[str]) -> None:
        self.found, self.app, self.house = found, app, house

    @contextlib.asynccontextmanager
    async def served(self) -> AsyncIterator[Lan]:
        made = Lan(self.house.home.root, self.app, self.house.access)
        made.begin(made.open())
        following = asyncio.create_task(made.follow())
        try:
            yield made
        finally:
            following.cancel()
            await made.end()

    async def ask(self, address: str, port: int, tls: ssl.SSLContext | None, text: str) -> bytes:
        reader, writer = await asyncio.open_connection(
            address, port, ssl=tls, server_hostname=address if tls else None
        )
        scheme = "https" if tls else "http"
        writer.write(
            f"{text} HTTP/1.1\r\nHost: {address}:{port}\r\nOrigin: {scheme}://{address}:{port}\r\n"
            "Accept: text/html\r\nConnection: close\r\n\r\n".encode()
        )
        with contextlib.closing(writer):
            return await reader.read()

    def trusting(self) -> ssl.SSLContext:
        """What a phone does that installed the authority of the guide."""
        made = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        der = open_or_make(self.house.home.root).certificate
        made.load_verify_locations(cadata=der)
        return made


@pytest.fixture
def network(app: Application, house: House, monkeypatch: pytest.MonkeyPatch) -> Network:
    found = ["127.0.0.2"]
    with listening.on_address("127.0.0.2", 0) as free:
        port = listening.port_of(free)
    house.access.places.__init__(port)  # type: ignore[misc]
    monkeypatch.setattr(networks, "addresses", lambda: tuple(found))
    monkeypatch.setattr(lan, "LOOK_S", 0.05)
    return Network(app, house, found)


async def until(true: Callable[[], bool]) -> None:
    async with asyncio.timeout(30):
        while not true():
            await asyncio.sleep(0.02)


def test_a_phone_that_trusts_the_authority_reaches_the_page(network: Network) -> None:
    places: Places = network.house.access.places

    async def run() -> None:
        async with network.served():
            page = await network.ask("127.0.0.2", places.port, network.trusting(), "GET /pair")
            assert page.startswith(b"HTTP/1.1 200")
            assert b"Pair this device" in page
            jobs = await network.ask("127.0.0.2", places.port, network.trusting(), "GET /")
            assert jobs.startswith(b"HTTP/1.1 401")
            stranger = ssl.create_default_context()
            with pytest.raises(ssl.SSLCertVerificationError):
                await network.ask("127.0.0.2", places.port, stranger, "GET /pair")
            plain = await network.ask("127.0.0.2", places.port, None, "GET /pair")
            assert b"Pair" not in plain

    asyncio.run(run())


def test_the_guide_shows_the_authority_and_nothing_else(network: Network) -> None:
    access: Access = network.house.access
    port = access.places.guide_port

    async def run() -> None:
        async with network.served():
            page = await network.ask("127.0.0.2", port, None, "GET /")
            assert page.startswith(b"HTTP/1.1 200")
            assert access.guide is not None
            assert access.guide.spaced.encode() in page
            assert access.guide.address == f"http://127.0.0.2:{port}/"
            got = await network.ask("127.0.0.2", port, None, "GET /seamnote-authority.crt")
            assert b"content-type: application/x-x509-ca-cert" in got
            assert got.endswith(open_or_make(network.house.home.root).certificate)
            for nothing in NOT_GUIDED:
                answer = await network.ask("127.0.0.2", port, None, f"GET {nothing}")
                assert answer.startswith(b"HTTP/1.1 404"), nothing
            answer = await network.ask("127.0.0.2", port, None, "POST /")
            assert answer.startswith(b"HTTP/1.1 405")
            assert b"content-security-policy" in answer
            assert b"set-cookie" not in page + got + answer
            other = await network.ask("127.0.0.2", port, None, "GET / HTTP/1.1\r\nHost: evil")
            assert other.startswith(b"HTTP/1.1 4")

    asyncio.run(run())


def test_another_network_is_followed(network: Network, told: list[str]) -> None:
    places: Places = network.house.access.places

    async def run() -> None:
        async with network.served():
            network.found[:] = ["127.0.0.3", "127.0.0.4"]
            await until(lambda: any("addresses have changed" in line for line in told))
            for address in network.found:
                page = await network.ask(address, places.port, network.trusting(), "GET /pair")
                assert page.startswith(b"HTTP/1.1 200")
            with pytest.raises(OSError, match=r"refused|failed"):
                await network.ask("127.0.0.2", places.port, network.trusting(), "GET /pair")
            assert "https://127.0.0.3:" in inviting.on_the_network(network.house.access)
            network.found[:] = []
            await until(lambda: not places.lan)
            network.found[:] = ["127.0.0.2"]
            await until(lambda: places.lan != ())
            page = await network.ask("127.0.0.2", places.port, network.trusting(), "GET /pair")
            assert page.startswith(b"HTTP/1.1 200")

    asyncio.run(run())


@pytest.mark.filterwarnings("ignore:ssl.TLSVersion.TLSv1_1:DeprecationWarning")
def test_old_versions_of_tls_are_refused(network: Network) -> None:
    async def run() -> None:
        async with network.served():
            old = network.trusting()
            old.minimum_version = ssl.TLSVersion.MINIMUM_SUPPORTED
            old.maximum_version = ssl.TLSVersion.TLSv1_1
            old.set_ciphers("ALL:@SECLEVEL=0")
            with pytest.raises((ssl.SSLError, ConnectionResetError)):
                await network.ask("127.0.0.2", network.house.access.places.port, old, "GET /")

    asyncio.run(run())
