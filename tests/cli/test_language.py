"""The spoken language and the firm's own words, as a user sets them."""

from pathlib import Path

from tests.cli.command import seamnote

GERMAN = "Druck zwei Komma zwei Bar, Haltezeit dreieinhalb Minuten. Keine Blasen."


def test_the_option_speaks_german(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text(GERMAN, encoding="utf-8")
    ran = seamnote("extract", "a.txt", "--language", "de", "--json", cwd=tmp_path)
    fields = ran.objects[0]["fields"]
    assert {name: entry["value"] for name, entry in fields.items()} == {
        "pressure": 2.2,
        "dwell_time": 210.0,
        "bubbles": False,
    }
    assert ran.code == 0
    line = "1.200 mm bei 2,5 bar\n"
    (found,) = seamnote("quantities", "--language", "de", cwd=tmp_path, stdin=line).objects
    assert [(q["value"], q["unit"]) for q in found] == [(1200.0, "mm"), (2.5, "bar")]


def test_an_answer_in_german(tmp_path: Path) -> None:
    ran = seamnote(
        "extract", "-", "--asked", "pressure", "--language", "de", "--json",
        cwd=tmp_path, stdin="zwei Komma zwei",
    )  # fmt: skip
    assert ran.objects[0]["fields"]["pressure"]["value"] == 2.2


def test_the_settings_speak_german_and_the_option_english(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text('[speech]\nlanguage = "de"\n')
    ran = seamnote("extract", "-", "--json", cwd=tmp_path, stdin=GERMAN)
    assert ran.objects[0]["fields"]["dwell_time"]["value"] == 210.0
    ran = seamnote(
        "extract", "-", "--language", "en", "--json", cwd=tmp_path, stdin="Pressure two bar."
    )
    assert ran.objects[0]["fields"]["pressure"]["value"] == 2.0


def test_an_unknown_language_is_wrong_use(tmp_path: Path) -> None:
    ran = seamnote("quantities", "--language", "tlh", cwd=tmp_path, stdin="2 bar\n")
    assert ran.code == 2
    assert "en, de" in ran.complains_once()
    home = tmp_path / "home"
    home.mkdir()
    (home / "settings.toml").write_text('[speech]\nlanguage = "tlh"\n')
    ran = seamnote("quantities", cwd=tmp_path, stdin="2 bar\n")
    assert ran.code == 3
    assert "speech.language" in ran.complains_once()


def test_the_firms_words_and_a_fault_in_them(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    own = home / "vocabulary.toml"
    own.write_text('[fields.pressure]\nwords = ["squeeze"]\n[units]\nbar = ["kilos"]\n')
    ran = seamnote("extract", "-", "--json", cwd=tmp_path, stdin="Squeeze two kilos.")
    assert ran.objects[0]["fields"]["pressure"]["value"] == 2.0
    own.write_text('[fields.presure]\nwords = ["squeeze"]\n')
    ran = seamnote("extract", "-", cwd=tmp_path, stdin="Squeeze two kilos.")
    assert ran.code == 3
    assert "vocabulary.toml: fields.presure: there is no such entry" in ran.complains_once()
