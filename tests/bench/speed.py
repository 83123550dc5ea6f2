"""Time and memory of hearing, beside plain faster-whisper with its defaults on the same files."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from recorder.notes.extract import extract
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.settings import SpeechSettings
from recorder.voice import bundled, whisper
from recorder.voice.audio import SAMPLE_RATE_HZ
from recorder.voice.transcribe import transcribe
from tests.bench.plant import condition, in_plant
from tests.bench.sound_file import write
from tests.bench.voices import Recording

_UTTERANCE_S = (3.0, 6.0)
_PAD = SAMPLE_RATE_HZ // 5
_TRANSCRIBE_ALONE = """
import sys
from pathlib import Path
from recorder.notes.words.vocabulary import hearing_prompt
from recorder.settings import SpeechSettings
from recorder.voice.transcribe import transcribe
for path in sys.argv[1:]:
    transcribe(Path(path), SpeechSettings(), hearing_prompt(()))
# Not ru_maxrss, which a child starts with at its parent's size.
status = Path("/proc/self/status").read_text()
print(int(status.split("VmHWM:")[1].split()[0]) / 1024)
"""


def measure(recordings: Sequence[Recording]) -> None:
    """Print all figures over the recordings, half of them clean and half at 10 dB."""
    clean, noisy = condition("clean"), condition("10")
    with tempfile.TemporaryDirectory() as folder:
        paths, length_s = [], 0.0
        for number, recording in enumerate(recordings):
            sound = in_plant(recording.sound, (clean, noisy)[number % 2], number)
            path, seconds = write(Path(folder) / f"{number}.wav", sound)
            paths.append(path)
            length_s += seconds
        ours_s, plain_s = _side_by_side(paths)
        print(f"{len(paths)} recordings of {length_s / len(paths):.0f} s on average, "
              f"{SpeechSettings().threads} threads")  # fmt: skip
        print(f"heard and understood     {ours_s / length_s:.3f} x real")
        print(f"plain faster-whisper     {plain_s / length_s:.3f} x real")
        print(f"ratio                    {ours_s / plain_s:.2f}")
        for what, took_s in _latency(recordings).items():
            print(f"utterance of 3 to 6 s    {what}: median {np.median(took_s):.2f} s, "
                  f"p95 {np.percentile(took_s, 95):.2f} s, of {len(took_s)}")  # fmt: skip
        print(f"peak resident memory     {_peak_mb(paths):.0f} MB")


def _side_by_side(paths: list[Path]) -> tuple[float, float]:
    """Seconds by us and by plain faster-whisper, one after the other so that both see one load."""
    from faster_whisper import WhisperModel

    settings = SpeechSettings()
    plain = WhisperModel(
        str(bundled.folder()), device="cpu", compute_type="int8", cpu_threads=settings.threads
    )

    def ours(path: Path) -> None:
        extract(transcribe(path, settings, hearing_prompt(())))

    def theirs(path: Path) -> None:
        list(plain.transcribe(str(path))[0])

    for warm_up in (ours, theirs):
        warm_up(paths[0])
    pairs = [(_seconds(ours, path), _seconds(theirs, path)) for path in paths]
    return sum(pair[0] for pair in pairs), sum(pair[1] for pair in pairs)


def _seconds(work: Callable[[Path], None], path: Path) -> float:
    began = time.monotonic()
    work(path)
    return time.monotonic() - began


def _latency(recordings: Sequence[Recording]) -> dict[str, list[float]]:
    """Seconds from the end of one clean utterance to its text, and to all its hearings."""
    recogniser = whisper.load(SpeechSettings())
    prompt = hearing_prompt(())
    took_s: dict[str, list[float]] = {"text": [], "with its trust": []}
    for recording in recordings:
        for start, end in recording.utterances:
            if not _UTTERANCE_S[0] <= (end - start) / SAMPLE_RATE_HZ <= _UTTERANCE_S[1]:
                continue
            said = recording.sound[max(0, start - _PAD) : end + _PAD].astype(np.float32)
            began = time.monotonic()
            decodings = iter(recogniser.listen(said, prompt))
            next(decodings)
            took_s["text"].append(time.monotonic() - began)
            list(decodings)
            took_s["with its trust"].append(time.monotonic() - began)
    return took_s


def _peak_mb(paths: list[Path]) -> float:
    """Of a process that does nothing but transcribe the files, on Linux."""
    done = subprocess.run(
        [sys.executable, "-c", _TRANSCRIBE_ALONE, *map(str, paths)],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    return float(done.stdout)
