"""What Chromium's fake microphone is fed with, and where the record has it.

The fake device plays a file at its own rate; at 44.1 kHz, which is the rate of its fake output too,
nothing in the browser resamples, and each sample arrives as it was written. It begins anew with
each opening of the microphone.
"""

from __future__ import annotations

import json
import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 44_100
SECONDS = 90
_PIECE = 12  # samples in a row stand at one place only

Samples = NDArray[np.int16]


def noise() -> Samples:
    """No piece of it comes twice, and no sample is 0, so that silence would be seen."""
    drawn = np.random.default_rng(20261126).integers(1, 12_000, RATE_HZ * SECONDS)
    return (drawn * np.where(np.arange(drawn.size) % 2, 1, -1)).astype(np.int16)


def write(path: Path, samples: Samples) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(samples.astype("<i2").tobytes())


def stretches(live: Path) -> list[tuple[dict[str, object], Samples]]:
    """Head and samples of each stretch that lies in the folder ``live`` of a job, in order."""
    heads = sorted(live.glob("recording_*.jsonl"), key=lambda path: int(path.stem.split("_")[1]))
    return [
        (json.loads(path.read_text().splitlines()[0]), np.fromfile(path.with_suffix(".pcm"), "<i2"))
        for path in heads
    ]


def followed(fed: Samples, kept: Samples) -> float:
    """How much of the fed sound, between the first and the last sample that were kept, was kept.

    It must lie in the kept one in order and once. Between two pieces of it may be silence, which
    the browser puts where its fake device was late, and some of it may be missing there; anything
    else is an AssertionError.
    """
    at = first = None
    place = count = 0
    while place < kept.size:
        if kept[place] == 0:
            place += 1
            continue
        begin = _find(fed, kept[place : place + _PIECE], at or 0)
        assert begin is not None, f"sample {place} of {kept.size} was not fed, or comes twice"
        first = begin if first is None else first
        length = min(kept.size - place, fed.size - begin)
        differs = np.flatnonzero(kept[place : place + length] != fed[begin : begin + length])
        same = int(differs[0]) if differs.size else length
        place, at, count = place + same, begin + same, count + same
    assert at is not None, "all was silence"
    return count / (at - first)


def _find(fed: Samples, piece: Samples, least: int) -> int | None:
    """Where the piece stands in the fed sound, from ``least`` on."""
    for begin in least + np.flatnonzero(fed[least : fed.size - piece.size] == piece[0]):
        if np.array_equal(fed[begin : begin + piece.size], piece):
            return int(begin)
    return None
