"""The seconds behind a reading, cut out of a whole recording."""

import io
import wave
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from recorder.errors import FileMissing, NotAudio
from recorder.voice.audio import decode
from recorder.voice.clip import LONGEST_S, clip

NARRATION = Path(__file__).parents[2] / "demo_media" / "job" / "narration.flac"
RATE_HZ = 24_000


def heard(content: bytes) -> NDArray[np.float64]:
    with wave.open(io.BytesIO(content)) as file:
        assert (file.getnchannels(), file.getsampwidth()) == (1, 2)
        assert file.getframerate() == RATE_HZ
        return np.frombuffer(file.readframes(file.getnframes()), np.int16) / 32768


@pytest.mark.parametrize("start_s", [0.0, 1.3, 20.25, 40.0])
def test_a_clip_is_that_part_of_the_recording_to_the_sample(start_s: float) -> None:
    part = heard(clip(NARRATION, start_s, start_s + 3))
    assert len(part) == 3 * RATE_HZ
    whole = decode(NARRATION)
    at = np.arange(len(part)) / RATE_HZ
    best = max(
        range(-8, 9),
        key=lambda late: np.corrcoef(
            np.interp(start_s + late / 16_000 + at, np.arange(len(whole)) / 16_000, whole), part
        )[0, 1],
    )
    assert abs(best) <= 1


def test_a_clip_over_the_end_is_shorter() -> None:
    end_s = len(decode(NARRATION)) / 16_000
    part = heard(clip(NARRATION, end_s - 1, end_s + 2))
    assert len(part) == pytest.approx(RATE_HZ, abs=RATE_HZ / 20)


def test_a_clip_before_the_beginning_starts_there() -> None:
    assert len(heard(clip(NARRATION, -1, 1))) == RATE_HZ


def test_behind_the_end_there_is_nothing_to_hear() -> None:
    with pytest.raises(NotAudio, match="it ends before 9000 s"):
        clip(NARRATION, 9000, 9003)


def test_nobody_gets_a_whole_recording_as_a_clip() -> None:
    assert len(heard(clip(NARRATION, 0, 9000))) <= LONGEST_S * RATE_HZ


def test_a_file_that_is_no_sound_is_refused(tmp_path: Path) -> None:
    list_of_others = tmp_path / "list.flac"
    list_of_others.write_text(f"#EXTM3U\n{NARRATION}\n")
    with pytest.raises(NotAudio):
        clip(list_of_others, 0, 3)
    with pytest.raises(FileMissing):
        clip(tmp_path / "none.flac", 0, 3)
