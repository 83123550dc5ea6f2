"""How many spoken settings come out right, asked, wrong or missing, by noise.

``python -m tests.bench.speech [--set report] [--count 24]`` synthesises narrations without a job
card, hears and understands each, and prints per condition:

right and clear · right but asked · wrong and asked · WRONG AND CLEAR · missing · invented

'Wrong and clear' is the promise's failure and is listed in full.
"""

from __future__ import annotations

import argparse
import collections
import tempfile
import time
import wave
from pathlib import Path

import numpy as np

from recorder.model.job import in_force
from recorder.model.reading import Reading, Standing
from recorder.notes.extract import extract
from recorder.notes.vocabulary import hearing_prompt
from recorder.settings import SpeechSettings
from recorder.voice.audio import SAMPLE_RATE_HZ
from recorder.voice.transcribe import transcribe
from tests.bench.narrations import Narration, narrations
from tests.bench.voices import VOICES, Sound, in_plant, narrate

CONDITIONS: tuple[tuple[str, float | None], ...] = (
    ("clean", None), ("fan", 15.0), ("compressor", 10.0), ("clatter", 5.0),
)  # fmt: skip


def main() -> None:
    arguments = _parse()
    told = narrations(arguments.set, arguments.count)
    sounds = [narrate(n.lines, VOICES[i % len(VOICES)]) for i, n in enumerate(told)]
    length_s = sum(sound.size for sound in sounds) / SAMPLE_RATE_HZ
    slots = sum(len(narration.truth) for narration in told)
    print(f"{arguments.set}: {len(told)} narrations, {slots} slots, {length_s:.0f} s, "
          f"{len(VOICES)} voices")  # fmt: skip
    print(f"{'':16}{'right':>8}{'asked':>8}{'w+asked':>8}{'W+CLEAR':>8}{'missing':>8}"
          f"{'invented':>9}{'x real':>8}")  # fmt: skip
    for kind, snr_db in CONDITIONS:
        began = time.monotonic()
        counts: collections.Counter[str] = collections.Counter()
        silent: list[str] = []
        for number, (narration, sound) in enumerate(zip(told, sounds, strict=True)):
            heard = _understand(in_plant(sound, kind, snr_db, number))
            _score(narration, heard, counts, silent, VOICES[number % len(VOICES)])
        took = (time.monotonic() - began) / length_s
        name = kind if snr_db is None else f"{kind} {snr_db:.0f} dB"
        shares = [counts[k] / slots for k in ("right", "asked", "wrong asked", "WRONG", "missing")]
        print(f"{name:16}" + "".join(f"{share:8.1%}" for share in shares)
              + f"{counts['invented']:9}{took:8.2f}")  # fmt: skip
        for line in silent:
            print(f"    {line}")


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--set", choices=("development", "report"), default="report")
    parser.add_argument("--count", type=int, default=24)
    return parser.parse_args()


def _understand(sound: Sound) -> tuple[Reading, ...]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "narration.wav"
        with wave.open(str(path), "wb") as file:
            file.setparams((1, 2, SAMPLE_RATE_HZ, 0, "NONE", ""))
            file.writeframes((sound * 32767).astype(np.int16).tobytes())
        transcript = transcribe(path, SpeechSettings(), hearing_prompt(()))
    return extract(transcript).readings


def _score(
    narration: Narration, heard: tuple[Reading, ...], counts: collections.Counter[str],
    silent: list[str], voice: str,
) -> None:  # fmt: skip
    found = in_force(heard)
    for field, truth in narration.truth.items():
        reading = found.get(field)
        if reading is None:
            counts["missing"] += 1
            continue
        right = (
            np.isclose(reading.value, truth, rtol=2e-3)
            if isinstance(truth, float) else reading.value == truth
        )  # fmt: skip
        doubtful = reading.standing is Standing.DOUBTFUL
        counts[("asked" if doubtful else "right") if right
               else ("wrong asked" if doubtful else "WRONG")] += 1  # fmt: skip
        if not right and not doubtful:
            said = reading.evidence.said if reading.evidence.source == "spoken" else ""
            silent.append(f"{voice}: {field} {reading.value!r}, true {truth!r}, heard {said!r}")
    for field in found.keys() - narration.truth.keys():
        counts["invented"] += 1
        if found[field].standing is not Standing.DOUBTFUL:
            silent.append(f"{voice}: invented {field} {found[field].value!r}")


if __name__ == "__main__":
    main()
