from pathlib import Path

import pytest

from recorder.errors import BadSettings
from recorder.settings import Settings, load


def test_no_file_gives_the_defaults(tmp_path: Path) -> None:
    assert load(tmp_path / "settings.toml") == Settings()


def test_a_file_changes_what_it_names(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(
        '[speech]\nmodel = "small.en"\n[photo]\nprint_scale = [1.002, 0.999]\n'
        '[report]\nfirm = "Quillback"\nunits = {temperature = "degF"}\nlanguage = "de_AT"\n'
        "[archive]\nkeep_recordings_days = 730\n"
    )
    settings = load(path)
    assert settings.speech.model == "small.en"
    assert settings.photo.print_scale == (1.002, 0.999)
    assert settings.photo.limits == Settings().photo.limits
    assert settings.report.units == {"temperature": "degF"}
    assert settings.report.language == "de_AT"
    assert settings.archive.keep_recordings_days == 730
    assert Settings().archive.keep_recordings_days is None


def test_the_measured_card_counts_unless_the_settings_say_otherwise(tmp_path: Path) -> None:
    card = 'print_scale = [1.0012, 0.999]\nsize = "M"\nmeasured_at = 2026-01-02T03:04:05+01:00\n'
    (tmp_path / "card.toml").write_text(card)
    path = tmp_path / "settings.toml"
    assert load(path).photo.print_scale == (1.0012, 0.999)
    assert load(path).photo.print_scale_size == "M"
    path.write_text("[photo]\nprint_scale = [1.0, 1.0]\n")
    assert load(path).photo.print_scale == (1.0, 1.0)


@pytest.mark.parametrize(("text", "place"), [
    ("[speech", "table declaration"),
    ('[speech]\nmodle = "x"', "speech.modle"),
    ("[speech]\nthreads = 0", "speech.threads"),
    ("[photo]\nprint_scale = [1.2, 1.0]", "photo.print_scale"),
    ('[speaking]\nengine = "piper"', "speaking: piper wants the file of a voice"),
    ("[speaking]\nwords_per_minute = 5", "speaking.words_per_minute"),
    ('[report]\nunits = {temperature = "psi"}', "report.units"),
    ('[report]\nlanguage = "../de"', "report.language"),
    ('[report]\nlanguage = "German"', "report.language"),
    ('[report]\ntimestamp_url = "file:///etc/passwd"', "report.timestamp_url"),
    ('[report]\ntimestamp_url = "https://a b"', "report.timestamp_url"),
    ("[[photo.limits]]\nhigh = 1", "photo.limits.0.name"),
    ("[archive]\nkeep_recordings_days = 0", "archive.keep_recordings_days"),
    ('[archive]\nkeep_recordings_days = "two years"', "archive.keep_recordings_days"),
])  # fmt: skip
def test_a_fault_is_named_with_its_place(tmp_path: Path, text: str, place: str) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(text)
    with pytest.raises(BadSettings, match=place.replace(".", r"\.")):
        load(path)
