"""Text to speech: the recorder's own voice, made on this machine by a program beside it.

The only module that runs a speech program. The text goes in by standard input and never through a
shell, and holds nothing that the program could take for a command.
"""

from __future__ import annotations

import functools
import io
import re
import shutil
import subprocess
import sys
import tempfile
import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from recorder.errors import EngineMissing
from recorder.settings import SpeakingSettings

LONGEST_TEXT = 600  # characters; what is longer is cut, and nobody would listen to it
_REMEMBERED = 64  # sentences; "Dwell four minutes." comes again
_LIMIT_S = 20.0
# Two bytes a sample, after which a program that does not stop is cut off: five minutes.
_MOST_BYTES = 2 * 22_050 * 300
_INSTALL = {
    "linux": "sudo apt install espeak-ng",
    "darwin": "brew install espeak-ng",
    "win32": "winget install eSpeak-NG.eSpeak-NG",
}
_ESPEAK_VOICES = {"en": "en-us", "de": "de"}
# Words of the trade that the programs mispronounce, spelled so that they say what people say.
_SPELLED = {
    "en": {"platen": "platten", "platens": "plattens", "psi": "P S I"},
    "de": {"psi": "P S I"},
}
# In a hall of machines each sentence has to be as loud as the first; common practice, no source.
_LOUD_RMS = 0.2
_PEAK = 0.95


def speech(text: str, settings: SpeakingSettings, language: str = "en") -> bytes:
    """A WAV file of the spoken text, mono, 16 bit. Raises EngineMissing with what to install.

    Empty where there is nothing to say. ``language``: that the text is in, 'en' or 'de'.
    """
    spelled = _SPELLED.get(language, {})
    words = re.sub(r"\w+", lambda word: spelled.get(word[0].lower(), word[0]), sayable(text))
    return _made(words, settings, language) if words else b""


def sayable(text: str) -> str:
    """The text without anything that a speech program would take for more than words."""
    plain = "".join(char if char.isprintable() else " " for char in text)
    # espeak-ng reads phonemes in double brackets; <, > and & open markup elsewhere.
    for special in "[]<>&|\\{}":
        plain = plain.replace(special, " ")
    plain = " ".join(plain.split())
    return plain if len(plain) <= LONGEST_TEXT else plain[:LONGEST_TEXT].rsplit(" ", 1)[0]


@functools.lru_cache(maxsize=_REMEMBERED)
def _made(words: str, settings: SpeakingSettings, language: str) -> bytes:
    program = _program(settings)
    if settings.engine == "piper":
        return _loud(_piper(program, words, settings))
    return _loud(_espeak(program, words, settings, language))


def describe(settings: SpeakingSettings) -> str:
    """Which voice there is; 'none' where the settings want none. Raises EngineMissing."""
    if settings.engine == "none":
        return "none; the page shows what it would say"
    program = _program(settings)
    if settings.engine == "piper":
        return f"piper in {program}, voice {settings.voice}"
    answer = _run([program, "--version"], b"")
    return " ".join(answer.decode("utf-8", "replace").split("Data at")[0].split()).rstrip(":")


def _program(settings: SpeakingSettings) -> str:
    if settings.engine == "none":
        raise EngineMissing(
            engine="a voice",
            detail="the settings want none",
            install='set engine = "espeak-ng" in [speaking] of settings.toml',
        )
    found = shutil.which(settings.program or settings.engine)
    if found is None:
        raise EngineMissing(
            engine=f"the voice {settings.engine}",
            detail=f"there is no program {settings.program or settings.engine}",
            install=_install(settings),
        )
    if settings.engine == "piper" and not Path(settings.voice).expanduser().is_file():
        raise EngineMissing(
            engine="the voice piper",
            detail=f"there is no file {settings.voice}",
            install="correct speaking.voice in settings.toml",
        )
    return found


def _install(settings: SpeakingSettings) -> str:
    if settings.program:
        return "correct speaking.program in settings.toml"
    if settings.engine == "piper":
        return f"{sys.executable} -m pip install piper-tts"
    return _INSTALL.get(sys.platform, "install espeak-ng")


def _espeak(program: str, words: str, settings: SpeakingSettings, language: str) -> bytes:
    voice = settings.voice or _ESPEAK_VOICES.get(language, language)
    speed = str(settings.words_per_minute)
    return _run(
        [program, "-v", voice, "-s", speed, "-b", "1", "--stdin", "--stdout"],
        words.encode("utf-8"),
    )


def _piper(program: str, words: str, settings: SpeakingSettings) -> bytes:
    slower = 170 / settings.words_per_minute  # a usual voice speaks so fast at 1
    voice = str(Path(settings.voice).expanduser())
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        _run(
            [program, "--model", voice, "--length_scale", f"{slower:.2f}",
             "--output_file", str(path)],
            words.encode("utf-8") + b"\n",
        )  # fmt: skip
        try:
            return path.read_bytes()
        except OSError as error:
            raise _failed(program, "it gave no sound") from error


def _run(command: list[str], given: bytes) -> bytes:
    try:
        done = subprocess.run(
            command, input=given, capture_output=True, timeout=_LIMIT_S, check=True
        )
    except subprocess.TimeoutExpired as error:
        raise _failed(command[0], f"it did not answer within {_LIMIT_S:.0f} s") from error
    except subprocess.CalledProcessError as error:
        told = error.stderr.decode("utf-8", "replace").strip().splitlines()
        raise _failed(command[0], told[-1] if told else f"exit {error.returncode}") from error
    except OSError as error:
        raise _failed(command[0], error.strerror or str(error)) from error
    return done.stdout


def _failed(program: str, detail: str) -> EngineMissing:
    return EngineMissing(
        engine=f"the voice {Path(program).name}",
        detail=detail,
        install='check [speaking] in settings.toml; engine = "none" does without a voice',
    )


def _loud(sound: bytes) -> bytes:
    """The same WAV with a true length in its head, and as loud as all others."""
    samples, rate_hz = _samples(sound)
    rms = float(np.sqrt(np.mean(samples**2))) if samples.size else 0.0
    if rms:
        # Peaks are rounded off and not cut, which would crackle.
        samples = _PEAK * np.tanh(samples * (_LOUD_RMS / rms) / _PEAK)
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes((samples * 32767).astype("<i2").tobytes())
    return out.getvalue()


def _samples(sound: bytes) -> tuple[NDArray[np.float64], int]:
    """Of a WAV file; one that is written to a pipe does not know its own length."""
    try:
        with wave.open(io.BytesIO(sound)) as file:
            if file.getnchannels() != 1 or file.getsampwidth() != 2:
                raise wave.Error("not mono with 16 bit")
            rate_hz = file.getframerate()
            pcm = file.readframes(min(file.getnframes(), _MOST_BYTES // 2))
    except (wave.Error, EOFError) as error:
        raise _failed("program", f"what it gave is no sound: {error}") from error
    whole = np.frombuffer(pcm[: len(pcm) // 2 * 2], "<i2")
    return whole / 32768, rate_hz
