from pathlib import Path

import pytest

from recorder.archive.disk.home import Home


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def source(tmp_path: Path) -> Path:
    """Where the user's own files lie."""
    return tmp_path / "from the camera"
