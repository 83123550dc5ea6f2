"""The furnished home, made once; a copy of it where a test changes something."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from recorder.flows.live.sessions import Sessions
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.house import House
from tests.web.conftest import PORT, paired_client
from tests.web.jobs.places import SETTINGS, Made, copied, furnished
from tests.web.live.server import Deaf


@pytest.fixture(scope="session")
def furniture(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return furnished(tmp_path_factory.mktemp("furnished") / "home")


@pytest.fixture
def made(furniture: Made, tmp_path: Path) -> Made:
    return copied(furniture, tmp_path / "home")


@pytest.fixture
def client(made: Made) -> Iterator[TestClient]:
    """A paired device of a server that can sign."""
    access = Access(made.home, Places(PORT), lambda line: None)
    sessions = Sessions(made.home, SETTINGS, made.key, hears=Deaf())
    app = application(House(made.home, SETTINGS, made.key, sessions, access))
    yield paired_client(app, access)
    sessions.close()
