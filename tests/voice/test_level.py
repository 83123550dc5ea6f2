"""Very quiet sound is raised, all other sound is left as it is."""

from pathlib import Path

import numpy as np
import pytest

from recorder.resources import shipped
from recorder.settings import SpeechSettings
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.level import audible
from recorder.voice.transcribe import transcribe
from tests.voice.sound import tone, write

NARRATION = shipped("demo_media") / "job" / "narration.flac"


@pytest.mark.parametrize("peak", [0.02, 0.5, 1.0])
def test_audible_sound_is_left_as_it_is(peak: float) -> None:
    samples = (peak * tone(440.0, 1.0, SAMPLE_RATE_HZ)).astype(np.float32)
    assert audible(samples) is samples


def test_one_gain_for_the_whole_of_a_quiet_recording() -> None:
    samples = (0.002 * tone(440.0, 2.0, SAMPLE_RATE_HZ)).astype(np.float32)
    samples[: SAMPLE_RATE_HZ // 2] *= 0.5
    raised = audible(samples)
    gain = raised[1000] / samples[1000]
    assert gain > 5
    assert np.allclose(raised, gain * samples)
    assert np.abs(raised).max() <= 0.9


@pytest.mark.parametrize("samples", [np.zeros(0), np.zeros(100), np.zeros(SAMPLE_RATE_HZ)])
def test_silence_stays_silence(samples: np.ndarray) -> None:
    assert not audible(samples.astype(np.float32)).any()


def test_speech_from_deep_in_a_pocket_is_heard(tmp_path: Path) -> None:
    start = decode(NARRATION)[: int(9.5 * SAMPLE_RATE_HZ)]
    path = write(tmp_path / "pocket.flac", 0.001 * start, SAMPLE_RATE_HZ)
    text = " ".join(u.text for u in transcribe(path, SpeechSettings()).utterances).lower()
    assert "the drive is locked out" in text


def test_a_knock_does_not_keep_a_whisper_low() -> None:
    samples = (0.002 * tone(440.0, 2.0, SAMPLE_RATE_HZ)).astype(np.float32)
    knocked = samples.copy()
    knocked[5000] = 1.0
    raised = audible(knocked)
    assert raised[1000] / samples[1000] > 5
    assert np.abs(raised).max() <= 1.0
