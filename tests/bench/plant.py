"""A plant around a recording: the echo of the hall, and noise of several kinds.

The signal-to-noise ratio is the mean power of the speech, echo included, over its active frames
(20 ms, within 30 dB of the loud ones) against the mean power of the noise over the whole
recording, both from 80 Hz up and unweighted.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from recorder.voice.audio import SAMPLE_RATE_HZ
from tests.bench.voices import VOICES, Sound, narrate

Rng = np.random.Generator
_FRAME = SAMPLE_RATE_HZ // 50
_LOWEST_HZ = 80.0
_TALK = (
    "Did you see the game last night, they were all over the place in the second half.",
    "Shift her over a bit more, no, the other way, towards the wall.",
    "They said the lorry would be here by now, and there is still no sign of it.",
    "I told him twice to put the lid back on, and does he ever listen.",
    "We are going to need more pallets before the end of the shift.",
)


@dataclass(frozen=True)
class Condition:
    """snr_db: None for clean. kind: of noise; empty when the kinds take turns."""

    name: str
    snr_db: float | None
    kind: str = ""

    def kind_for(self, number: int) -> str:
        """The noise of the narration of that number; the turns of the voices do not follow it."""
        turn = number + number // len(VOICES) + int(self.snr_db or 0) // 5
        return self.kind or tuple(NOISES)[turn % len(NOISES)]


def condition(name: str) -> Condition:
    """'clean', '15' (all kinds in turn) or 'fan15'. Raises ValueError."""
    if name == "clean":
        return Condition(name, None)
    match = re.fullmatch(rf"({'|'.join(NOISES)})?(-?\d+)(?: ?dB)?", name)
    if not match:
        raise ValueError(f"{name} is neither 'clean' nor [{'|'.join(NOISES)}]NUMBER")
    return Condition(f"{match[1] or ''} {match[2]} dB".strip(), float(match[2]), match[1] or "")


def in_plant(sound: Sound, where: Condition, number: int) -> Sound:
    """The sound of narration ``number`` at a condition; the same every time. Clean: as it is."""
    if where.snr_db is None:
        return sound
    rng = np.random.default_rng([number, int(10 * where.snr_db) + 1000])
    heard = _echoed(sound, rng)
    mixed = heard + noise_under(heard, where.kind_for(number), where.snr_db, rng)
    return np.asarray(mixed * min(1.0, 0.99 / np.abs(mixed).max()))


def noise_under(speech: Sound, kind: str, snr_db: float, rng: Rng) -> Sound:
    """Noise as long as the speech, ``snr_db`` under it."""
    noise = _high(NOISES[kind](speech.size, rng))
    gain = np.sqrt(speech_power(_high(speech)) / np.mean(noise**2)) / 10 ** (snr_db / 20)
    return np.asarray(gain * noise)


def speech_power(sound: Sound) -> float:
    """Mean power over the frames within 30 dB of the 95th percentile of all frames that sound."""
    frames = sound[: sound.size // _FRAME * _FRAME].reshape(-1, _FRAME)
    power = np.mean(frames**2, axis=1)
    loud = np.percentile(power[power > 1e-9], 95)
    return float(np.mean(power[power > loud / 1000]))


def _high(sound: Sound) -> Sound:
    spectrum = np.fft.rfft(sound)
    spectrum[np.fft.rfftfreq(sound.size, 1 / SAMPLE_RATE_HZ) < _LOWEST_HZ] = 0
    return np.asarray(np.fft.irfft(spectrum, sound.size))


def _echoed(sound: Sound, rng: Rng) -> Sound:
    """A hall with 0.4 to 1.2 s of decay, the echo 12 to 20 dB under the direct sound.

    So does a voice 0.3 to 0.7 m from the microphone in a hall of 2,000 m3 (critical distance
    0.057 sqrt(V / T), Sabine).
    """
    decay_s = rng.uniform(0.4, 1.2)
    time_s = np.arange(int(decay_s * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    tail = rng.standard_normal(time_s.size) * 10 ** (-3 * time_s / decay_s)
    tail[: SAMPLE_RATE_HZ // 200] = 0  # the nearest wall is almost a metre away
    tail *= 10 ** (-rng.uniform(12, 20) / 20) / np.sqrt(np.sum(tail**2))
    size = sound.size + tail.size
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)[: sound.size]
    return np.asarray(sound + wet)


def _hiss(length: int, rng: Rng, tilt: float) -> Sound:
    """Noise whose power falls with the frequency to the power of ``tilt``, unit variance."""
    spectrum = np.fft.rfft(rng.standard_normal(length))
    frequency_hz = np.fft.rfftfreq(length, 1 / SAMPLE_RATE_HZ)
    noise = np.fft.irfft(spectrum * np.maximum(frequency_hz, _LOWEST_HZ) ** (-tilt / 2), length)
    return np.asarray(noise / np.std(noise))


def _tones(length: int, pitch_hz: float, levels: tuple[float, ...]) -> Sound:
    time_s = np.arange(length) / SAMPLE_RATE_HZ
    waves = (a * np.sin(2 * np.pi * pitch_hz * (n + 1) * time_s) for n, a in enumerate(levels))
    return np.asarray(sum(waves))


def _fan(length: int, rng: Rng) -> Sound:
    """Power falling by 3 to 6 dB an octave, with the tone of the blades."""
    blades = _tones(length, rng.uniform(90, 240), (0.3, 0.15, 0.08))
    return _hiss(length, rng, rng.uniform(1.0, 2.0)) + blades


def _compressor(length: int, rng: Rng) -> Sound:
    """Strokes of a piston over a mains hum."""
    time_s = np.arange(length) / SAMPLE_RATE_HZ
    stroke = np.maximum(0, np.sin(2 * np.pi * rng.uniform(6, 16) * time_s)) ** 3
    hum = _tones(length, rng.choice((100.0, 120.0)), (0.6, 0.3, 0.2, 0.1))
    return _hiss(length, rng, 1.0) * (0.3 + 1.5 * stroke) + hum


def _clatter(length: int, rng: Rng) -> Sound:
    """Three strikes of metal a second over a quiet fan."""
    noise = 0.3 * _hiss(length, rng, 1.0)
    ring_s = np.arange(int(0.3 * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    for at in rng.integers(0, length - ring_s.size, 3 * length // SAMPLE_RATE_HZ + 1):
        decay = np.exp(-ring_s / rng.uniform(0.01, 0.06))
        pitches_hz = rng.uniform(400, 5000, 4)[:, None]
        strike = np.sin(2 * np.pi * pitches_hz * ring_s).sum(axis=0) * decay
        noise[at : at + ring_s.size] += rng.uniform(0.3, 1.5) * strike
    return noise


def _babble(length: int, rng: Rng) -> Sound:
    """Five people who talk at once, over a quiet fan."""
    noise = 0.2 * _hiss(length, rng, 1.0)
    for talk, which in zip(_TALK, rng.permutation(len(VOICES)), strict=False):
        sound = narrate((talk,), VOICES[which], talk).sound
        sound = np.resize(sound / np.sqrt(speech_power(sound)), length)
        noise += np.roll(sound, int(rng.integers(length))) * rng.uniform(0.4, 1.0)
    return noise


NOISES: dict[str, Callable[[int, Rng], Sound]] = {
    "fan": _fan,
    "compressor": _compressor,
    "clatter": _clatter,
    "babble": _babble,
}
