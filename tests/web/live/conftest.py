"""One Chromium whose microphone plays a noise of which every sample is known."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.web.browser import launched
from tests.web.live import fed
from tests.web.live.cable import Cable
from tests.web.live.server import Server

FAKE_DEVICES = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")


@pytest.fixture(scope="session")
def noise() -> fed.Samples:
    return fed.noise()


@pytest.fixture(scope="package")
def chromium(tmp_path_factory: pytest.TempPathFactory, noise: fed.Samples) -> Iterator[Browser]:
    file = tmp_path_factory.mktemp("fed") / "noise.wav"
    fed.write(file, noise)
    with launched(*FAKE_DEVICES, f"--use-file-for-fake-audio-capture={file}%noloop") as browser:
        yield browser


@pytest.fixture(scope="module")
def cable() -> Iterator[Cable]:
    made = Cable()
    yield made
    made.end()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory, cable: Cable) -> Iterator[Server]:
    """Behind the cable. It hears nothing, and says nothing."""
    made = Server(tmp_path_factory.mktemp("live") / "home", behind=cable.port)
    cable.to = made.port
    yield made
    made.end()


@pytest.fixture(scope="module")
def talker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """It hears nothing, and speaks."""
    made = Server(tmp_path_factory.mktemp("talk") / "home", speaks=True)
    yield made
    made.end()
