"""Very quiet sound made loud enough for the voice detector and the recogniser."""

from __future__ import annotations

from collections import deque

import numpy as np

from recorder.voice.audio import SAMPLE_RATE_HZ, Samples

# A microphone deep in a pocket; common practice, no source. Louder sound is left as it is, because
# the recogniser's own scaling takes care of it and raising would only clip.
_QUIET_RMS = 0.003
_WANTED_RMS = 0.05
_PEAK = 0.9
_FRAME = SAMPLE_RATE_HZ // 20
# Below this there is nothing but the rounding of 16-bit samples.
_SILENT_RMS = 1e-4
_REMEMBERED = 600  # frames: 30 s


def audible(samples: Samples) -> Samples:
    """Samples, shape (n,), with one gain for all of them when even the loud parts are very quiet.

    The level is that of the loudest twentieth of its 50 ms frames.
    """
    frames = samples[: samples.size // _FRAME * _FRAME].reshape(-1, _FRAME)
    if not frames.size:
        return samples
    loud = float(np.quantile(np.sqrt(np.mean(frames**2, axis=1)), 0.95))
    if not _SILENT_RMS < loud < _QUIET_RMS:
        return samples
    # A knock on the pocket is louder than all speech in it, and may clip.
    peak = float(np.quantile(np.abs(samples), 0.999))
    gain = max(1.0, min(_WANTED_RMS / loud, _PEAK / peak))
    return np.asarray(np.clip(samples * gain, -1.0, 1.0), np.float32)


class SlowGain:
    """The same for sound that comes in piece by piece: the gain follows the level of the last 30 s,
    and gives way at once to what would be too loud with it.
    """

    def __init__(self) -> None:
        self._levels: deque[float] = deque(maxlen=_REMEMBERED)
        self._rest = np.zeros(0, np.float32)

    def raised(self, samples: Samples) -> Samples:
        """Samples, shape (n,), with one gain for all of them."""
        known = np.concatenate([self._rest, samples])
        frames = known[: known.size // _FRAME * _FRAME].reshape(-1, _FRAME)
        self._rest = known[frames.size :]
        self._levels.extend(np.sqrt(np.mean(frames**2, axis=1)).tolist())
        if not self._levels:
            return samples
        loud = float(np.quantile(np.fromiter(self._levels, float), 0.95))
        if not _SILENT_RMS < loud < _QUIET_RMS:
            return samples
        peak = float(np.abs(samples).max(initial=0.0))
        gain = max(1.0, min(_WANTED_RMS / loud, _PEAK / peak if peak else 1.0))
        return np.asarray(samples * gain, np.float32)
