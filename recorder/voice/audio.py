"""Decoded sound; the only module that imports PyAV, so that no ffmpeg program is needed."""

from __future__ import annotations

from pathlib import Path

import av
import av.error
import numpy as np
from numpy.typing import NDArray

from recorder.errors import FileEmpty, FileMissing, InputRefused, NotAudio

SAMPLE_RATE_HZ = 16_000
AUDIO_SUFFIXES = frozenset({".wav", ".flac", ".mp3", ".m4a", ".ogg", ".opus"})
# ffmpeg goes by the content and not by the name, and knows play lists that name other files and
# addresses; only these containers, which hold their own sound, are ever opened, from disk alone.
ONLY_SOUND = {"format_whitelist": "wav,flac,mp3,mov,ogg", "protocol_whitelist": "file"}

Samples = NDArray[np.float32]


def decode(path: Path) -> Samples:
    """The first sound stream of a file as mono samples, shape (n,), in -1..1 at 16 kHz.

    Frames that are damaged in the middle are left out, as a player would do. Raises FileMissing,
    FileEmpty, NotAudio when nothing at all can be decoded, and InputRefused for a folder.
    """
    if path.is_dir():
        raise InputRefused(path=path, detail="it is a folder and not a recording")
    if not path.is_file():
        raise FileMissing(path=path)
    if path.stat().st_size == 0:
        raise FileEmpty(path=path)
    try:
        samples = _decode(path)
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise NotAudio(path=path, detail=_reason(error)) from error
    if samples.size == 0:
        raise NotAudio(path=path, detail="its sound has no length")
    return samples


def _decode(path: Path) -> Samples:
    parts: list[NDArray[np.float32]] = []
    with av.open(
        str(path), mode="r", metadata_errors="ignore", container_options=ONLY_SOUND
    ) as container:
        if not container.streams.audio:
            raise ValueError("there is no sound in it")
        stream = container.streams.audio[0]
        resampler = av.AudioResampler(format="flt", layout="mono", rate=SAMPLE_RATE_HZ)
        for packet in container.demux(stream):
            try:
                frames = packet.decode()
            except av.error.InvalidDataError:
                continue
            for frame in frames:
                parts.extend(out.to_ndarray()[0] for out in resampler.resample(frame))
        if parts:
            parts.extend(out.to_ndarray()[0] for out in resampler.resample(None))
    return np.concatenate(parts) if parts else np.zeros(0, np.float32)


def _reason(error: Exception) -> str:
    if isinstance(error, av.error.ArgumentError):  # ffmpeg's answer for what is not on the list
        return "its content is no sound format"
    return getattr(error, "strerror", None) or str(error)
