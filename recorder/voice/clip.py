"""A few seconds out of a recording, as a file that a browser plays."""

from __future__ import annotations

import io
import wave
from pathlib import Path

import av
import av.error
import numpy as np
from numpy.typing import NDArray

from recorder.errors import FileMissing, NotAudio
from recorder.voice.audio import ONLY_SOUND

LONGEST_S = 60.0
_RATE_HZ = 24_000  # speech loses nothing that an ear would miss
_EARLIER_S = 0.5  # where the decoder starts, as some formats only find their way to a packet


def clip(path: Path, start_s: float, end_s: float) -> bytes:
    """That part of the first sound stream as WAV, mono; shorter where the recording ends before.

    Raises FileMissing, NotAudio.
    """
    if not path.is_file():
        raise FileMissing(path=path)
    end_s = min(end_s, start_s + LONGEST_S)
    try:
        samples = _samples(path, max(0.0, start_s), end_s)
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise NotAudio(path=path, detail=str(error)) from error
    if samples.size == 0:
        raise NotAudio(path=path, detail=f"it ends before {start_s:.0f} s")
    return wav(samples.tobytes(), _RATE_HZ)


def wav(pcm: bytes, rate_hz: int) -> bytes:
    """Samples, mono, int16 little-endian, as a WAV file."""
    file = io.BytesIO()
    with wave.open(file, "wb") as written:
        written.setnchannels(1)
        written.setsampwidth(2)
        written.setframerate(rate_hz)
        written.writeframes(pcm)
    return file.getvalue()


def _samples(path: Path, start_s: float, end_s: float) -> NDArray[np.int16]:
    """Mono at ``_RATE_HZ``."""
    parts: list[NDArray[np.int16]] = []
    begins_s: float | None = None
    with av.open(
        str(path), mode="r", metadata_errors="ignore", container_options=ONLY_SOUND
    ) as container:
        if not container.streams.audio:
            raise ValueError("there is no sound in it")
        stream = container.streams.audio[0]
        resampler = av.AudioResampler(format="s16", layout="mono", rate=_RATE_HZ)
        container.seek(int(max(0.0, start_s - _EARLIER_S) * av.time_base))
        for frame in container.decode(stream):
            at_s = frame.time or 0.0
            if at_s >= end_s:
                break
            if at_s + frame.samples / frame.sample_rate <= start_s:
                continue
            begins_s = at_s if begins_s is None else begins_s
            parts.extend(out.to_ndarray()[0] for out in resampler.resample(frame))
        if begins_s is None:
            return np.zeros(0, np.int16)
        parts.extend(out.to_ndarray()[0] for out in resampler.resample(None))
    first = max(0, round((start_s - begins_s) * _RATE_HZ))
    return np.concatenate(parts)[first : first + round((end_s - start_s) * _RATE_HZ)]
