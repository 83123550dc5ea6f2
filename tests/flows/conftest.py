"""The demo, run once by the command for all tests that look at what it left."""

from pathlib import Path

import pytest

from tests.cli.command import Ran, seamnote


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Ran]:
    """The home that the demo filled, and what the command printed."""
    home = tmp_path_factory.mktemp("demo") / "home"
    foreign = tmp_path_factory.mktemp("foreign folder")
    return home, seamnote("demo", "--home", home, cwd=foreign)
