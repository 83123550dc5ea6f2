import stat
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home, default_home
from recorder.errors import HomeUnusable


def test_a_new_home_has_its_layout(tmp_path: Path) -> None:
    home = Home.open(tmp_path / "deep" / "home")
    assert home.jobs.is_dir()
    assert home.identity.is_dir()
    assert home.identity.stat().st_mode & 0o077 == 0
    assert not home.index.exists()
    assert not home.settings.exists()
    assert Home.open(tmp_path / "deep" / "home", create=False) == home


def test_a_new_home_is_for_its_owner_alone(tmp_path: Path) -> None:
    home = Home.open(tmp_path / "new" / "home")
    assert stat.S_IMODE(home.root.stat().st_mode) == 0o700
    home.root.chmod(0o750)  # a firm that wants to share it
    assert stat.S_IMODE(Home.open(home.root).root.stat().st_mode) == 0o750


def test_looking_makes_nothing(tmp_path: Path) -> None:
    with pytest.raises(HomeUnusable, match="there is no home"):
        Home.open(tmp_path / "home", create=False)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("place", "why"),
    [
        ("{file}", "exists|directory"),
        ("{file}/home", "Not a directory"),
        ("/proc/seamnote", "No such file|denied|read-only|permitted"),
        ("a\0b", "null"),
        ("~nobody-of-that-name/home", "home directory"),
    ],
)
def test_an_unusable_place_is_one_clear_line(tmp_path: Path, place: str, why: str) -> None:
    file = tmp_path / "file"
    file.write_text("in the way")
    with pytest.raises(HomeUnusable, match=f"(?i){why}") as caught:
        Home.open(Path(place.format(file=file)))
    assert "\n" not in str(caught.value)
    assert "--home" in str(caught.value)
    assert file.read_text() == "in the way"


def test_the_environment_chooses_the_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEAMNOTE_HOME", str(tmp_path / "mine"))
    assert default_home() == tmp_path / "mine"
    monkeypatch.delenv("SEAMNOTE_HOME")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_home().name == "seamnote"
