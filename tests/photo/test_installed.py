"""What is there is told with its version, and what is not with the command that brings it."""

import sys
from importlib.metadata import version

import pytest

from recorder.errors import EngineMissing
from recorder.photo import installed

ENGINES = [
    ("vision", "cv2", "opencv-python-headless"),
    ("pictures", "PIL", "pillow"),
    ("heic", "pillow_heif", "pillow-heif"),
]


@pytest.mark.parametrize(("ask", "module", "distribution"), ENGINES)
def test_the_version_is_that_of_the_package(ask: str, module: str, distribution: str) -> None:
    assert getattr(installed, ask)() == f"{distribution} {version(distribution)}"


@pytest.mark.parametrize(("ask", "module", "distribution"), ENGINES)
def test_a_missing_engine_names_its_install_command(
    monkeypatch: pytest.MonkeyPatch, ask: str, module: str, distribution: str
) -> None:
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(EngineMissing, match=f"pip install {distribution}$"):
        getattr(installed, ask)()
