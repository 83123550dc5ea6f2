"""The wheel holds what the program needs, and nothing of the workshop."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def names(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation",
         "--wheel-dir", folder, ROOT],
        check=True,
    )  # fmt: skip
    (wheel,) = folder.glob("seamnote-*.whl")
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def test_every_module_template_and_demo_file_is_in_it(names: set[str]) -> None:
    modules = {p.relative_to(ROOT).as_posix() for p in (ROOT / "recorder").rglob("*.py")}
    data = {p.relative_to(ROOT).as_posix() for p in (ROOT / "recorder").rglob("*.toml")}
    assert modules | data | {"recorder/demo_media/signature.png"} <= names
    for folder in ("report_templates", "demo_media/job"):
        files = {
            f"recorder/{path.relative_to(ROOT).as_posix()}"
            for path in (ROOT / folder).rglob("*")
            if path.is_file() and "__pycache__" not in path.parts
        }
        assert files
        assert files <= names


def test_nothing_else_is_in_it(names: set[str]) -> None:
    strangers = {
        name for name in names if not name.startswith(("recorder/", "seamnote-0.1.0.dist-info/"))
    }
    assert strangers == set()
    assert not [name for name in names if "__pycache__" in name or name.endswith(".pyc")]
    assert not [name for name in names if "p12" in name or "make_" in name]
