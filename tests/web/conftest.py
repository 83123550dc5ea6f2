"""A whole application over a home of its own, and the devices that ask it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.flows.live.sessions import Sessions
from recorder.settings import Settings
from recorder.web.access import secret
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import Application, application
from recorder.web.house import House
from tests.web.jobs.places import Made, furnished

PORT = 8750
PLACE = f"http://localhost:{PORT}"


def unpaired_client(app: Application, address: str = "127.0.0.1") -> TestClient:
    """A browser of this machine that has no cookie, and asks for pages."""
    return TestClient(
        app,
        base_url=PLACE,
        follow_redirects=False,
        client=(address, 50_000),
        headers={"accept": "text/html,*/*;q=0.8", "origin": PLACE},
    )


def paired_client(app: Application, access: Access, name: str = "Tablet") -> TestClient:
    """A browser that paired itself, and seals what it sends. Its cookie is a header of its own: the
    one that 'Secure' keeps back from http, as the client does not know that this is the machine.
    """
    _, own = access.pair(access.invite(), name, "Chrome on Android")
    client = unpaired_client(app)
    client.headers["cookie"] = f"{access.cookie}={own}"
    client.headers["x-seamnote-seal"] = secret.seal(own)
    return client


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def told() -> list[str]:
    """What the server told in its terminal."""
    return []


@pytest.fixture
def house(home: Home, told: list[str]) -> Iterator[House]:
    settings = Settings()
    sessions = Sessions(home, settings, None)
    yield House(home, settings, None, sessions, Access(home, Places(PORT), told.append))
    sessions.close()


@pytest.fixture
def app(house: House) -> Application:
    return application(house)


@pytest.fixture
def stranger(app: Application) -> TestClient:
    """An unpaired device."""
    return unpaired_client(app)


@pytest.fixture
def device(app: Application, house: House) -> TestClient:
    """A paired device."""
    return paired_client(app, house.access)


@pytest.fixture(scope="session")
def furniture(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A home with jobs of every kind. Who changes one of them takes a copy."""
    return furnished(tmp_path_factory.mktemp("furnished") / "home")
