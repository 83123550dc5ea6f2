"""Sound of a microphone as it comes in, to what the recogniser takes; one door to PyAV."""

from __future__ import annotations

import av
import numpy as np

from recorder.voice.audio import SAMPLE_RATE_HZ, Samples

# What browsers give their pages; a stretch of another rate is refused where it begins.
LOWEST_RATE_HZ = 8_000
HIGHEST_RATE_HZ = 384_000


class Stream:
    """One stretch of sound, piece by piece: the same samples as if it had been decoded whole.

    Sample n of what comes out lies at the time n / 16 000 s of what went in, whatever the sizes of
    the pieces; the filter holds back about a millisecond until more comes or ``flush``.
    """

    def __init__(self, rate_hz: int) -> None:
        """Raises ValueError for a rate that no microphone has."""
        if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
            raise ValueError(f"{rate_hz} Hz is no rate of a microphone")
        self.rate_hz = rate_hz
        self._resampler = av.AudioResampler(format="flt", layout="mono", rate=SAMPLE_RATE_HZ)

    def feed(self, pcm: bytes) -> Samples:
        """``pcm``: mono, int16, little-endian. Samples in -1..1, shape (n,), at 16 kHz."""
        if not pcm:
            return np.zeros(0, np.float32)
        samples = np.frombuffer(pcm, "<i2").astype(np.int16, copy=False)
        frame = av.AudioFrame.from_ndarray(samples[None, :], format="s16", layout="mono")
        frame.sample_rate = self.rate_hz
        return self._out(frame)

    def flush(self) -> Samples:
        """What the filter still holds; nothing can be fed after it."""
        return self._out(None)

    def _out(self, frame: av.AudioFrame | None) -> Samples:
        parts = [out.to_ndarray()[0] for out in self._resampler.resample(frame)]
        return np.concatenate(parts) if parts else np.zeros(0, np.float32)
