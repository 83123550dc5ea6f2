"""A home with the firm's lists and six jobs on one belt, and a paired device."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from tests.web.knowhow.places import device_of, with_jobs, with_lists


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home that nobody changes."""
    folder = tmp_path_factory.mktemp("shop")
    return with_jobs(with_lists(Home.open(folder / "home"), folder))


@pytest.fixture(scope="session")
def reader(shop: Home) -> Iterator[TestClient]:
    """A device that only looks."""
    with device_of(shop) as client:
        yield client


@pytest.fixture
def worked(shop: Home, tmp_path: Path) -> Home:
    """A copy of it that may be changed."""
    return Home(Path(shutil.copytree(shop.root, tmp_path / "home")))


@pytest.fixture
def client(worked: Home) -> Iterator[TestClient]:
    with device_of(worked) as client:
        yield client
