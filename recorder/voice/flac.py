"""A stretch of raw sound to a FLAC file, without loss, and the proof of it; a door to PyAV."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import av
import av.error
import numpy as np
from numpy.typing import NDArray

from recorder.errors import OutputUnwritable

_BLOCK_S = 2
_SAMPLE_BYTES = 2
_CONTENT = {"format_whitelist": "flac", "protocol_whitelist": "file"}


def write(pcm: Path, rate_hz: int, out: Path) -> None:
    """Write mono int16 little-endian samples of a raw file as FLAC, down to the disk.

    A byte that is no whole sample at the end is left out. Raises OutputUnwritable.
    """
    try:
        with av.open(str(out), "w", format="flac") as container:
            stream = container.add_stream("flac", rate=rate_hz, layout="mono")
            stream.codec_context.format = "s16"
            for samples in _blocks(pcm, rate_hz):
                frame = av.AudioFrame.from_ndarray(samples[None, :], format="s16", layout="mono")
                frame.sample_rate = rate_hz
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        with out.open("rb") as written:
            os.fsync(written.fileno())
    except (av.error.FFmpegError, OSError, ValueError) as error:
        detail = getattr(error, "strerror", None) or str(error)
        raise OutputUnwritable(path=out, detail=detail) from error


def same(pcm: Path, out: Path) -> bool:
    """Whether the FLAC file, decoded again, holds every sample of the raw file and no other."""
    try:
        with pcm.open("rb") as raw:
            for samples in _decoded(out):
                if raw.read(samples.nbytes) != samples.astype("<i2").tobytes():
                    return False
            return len(raw.read(_SAMPLE_BYTES)) < _SAMPLE_BYTES
    except (av.error.FFmpegError, OSError, ValueError):
        return False


def _blocks(pcm: Path, rate_hz: int) -> Iterator[NDArray[np.int16]]:
    with pcm.open("rb") as raw:
        while len(block := raw.read(_BLOCK_S * rate_hz * _SAMPLE_BYTES)) >= _SAMPLE_BYTES:
            whole = block[: len(block) // _SAMPLE_BYTES * _SAMPLE_BYTES]
            yield np.frombuffer(whole, "<i2").astype(np.int16)


def _decoded(out: Path) -> Iterator[NDArray[np.int16]]:
    with av.open(str(out), mode="r", container_options=_CONTENT) as container:
        for frame in container.decode(audio=0):
            if frame.format.name not in ("s16", "s16p") or frame.layout.nb_channels != 1:
                raise ValueError("not mono with 16 bit")
            yield frame.to_ndarray().reshape(-1).astype(np.int16, copy=False)
