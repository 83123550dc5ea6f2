"""Sound files for the tests, written through PyAV."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

CODECS = {
    ".wav": "pcm_s16le",
    ".flac": "flac",
    ".mp3": "mp3",
    ".m4a": "aac",
    ".ogg": "libopus",
    ".opus": "libopus",
}


def write(path: Path, samples: NDArray[np.floating], rate_hz: int, channels: int = 1) -> Path:
    """Encode mono samples in -1..1, repeated on each channel, by the suffix of ``path``."""
    layout = "mono" if channels == 1 else "stereo"
    with av.open(str(path), "w") as container:
        stream = container.add_stream(CODECS[path.suffix], rate=rate_hz, layout=layout)
        pcm = np.tile((np.clip(samples, -1, 1) * 32767).astype(np.int16)[None, :], (channels, 1))
        frame = av.AudioFrame.from_ndarray(pcm, format="s16p", layout=layout)
        frame.sample_rate = rate_hz
        resampler = av.AudioResampler(
            stream.codec_context.format, layout, rate_hz, stream.codec_context.frame_size or None
        )
        for part in (*resampler.resample(frame), *resampler.resample(None)):
            for packet in stream.encode(part):
                container.mux(packet)
        for packet in stream.encode(None):
            container.mux(packet)
    return path


def tone(frequency_hz: float, seconds: float, rate_hz: int) -> NDArray[np.float64]:
    return 0.5 * np.sin(2 * np.pi * frequency_hz * np.arange(int(seconds * rate_hz)) / rate_hz)
