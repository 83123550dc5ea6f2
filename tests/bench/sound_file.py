"""A sound as a WAV file, as a phone would leave it."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np

from recorder.voice.audio import SAMPLE_RATE_HZ
from tests.bench.voices import Sound


def write(path: Path, sound: Sound) -> tuple[Path, float]:
    """The path again, and the length in s."""
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, SAMPLE_RATE_HZ, 0, "NONE", ""))
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    return path, sound.size / SAMPLE_RATE_HZ
