"""A copy of the furnished home, and a device that is paired with a server over it."""

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
from tests.web.jobs.places import SETTINGS, Made, copied
from tests.web.live.server import Deaf


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
