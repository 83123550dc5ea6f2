"""Very quiet sound made loud enough for the voice detector and the recogniser."""

from __future__ import annotations

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
