"""Sound of a microphone at 16 kHz, beside SciPy's polyphase resampler.

Source: scipy.signal.resample_poly, an implementation of its own, whose default Kaiser window holds
what does not belong about 60 dB down; the bound of -55 dB is that, and no standard.
"""

import math

import numpy as np
import pytest
from scipy.signal import resample_poly

from recorder.voice.audio import SAMPLE_RATE_HZ
from tests.voice.sound import tone
from tests.voice.test_stream import pcm_of, streamed

_FREQUENCIES_HZ = (90.0, 440.0, 1_300.0, 2_950.0)


def level_db(samples: np.ndarray) -> float:
    return 20 * math.log10(float(np.sqrt(np.mean(samples**2))) + 1e-12)


@pytest.mark.parametrize("rate_hz", [8_000, 22_050, 44_100, 48_000, 96_000, 192_000])
def test_the_same_sound_as_scipy_makes(rate_hz: int) -> None:
    sound = np.mean([tone(f, 2.0, rate_hz) for f in _FREQUENCIES_HZ], axis=0)
    ours = streamed(pcm_of(sound), rate_hz, [1000, 333])
    common = math.gcd(rate_hz, SAMPLE_RATE_HZ)
    theirs = resample_poly(sound, SAMPLE_RATE_HZ // common, rate_hz // common)
    inner = slice(400, min(ours.size, theirs.size) - 400)
    assert level_db(ours[inner] - theirs[inner]) < level_db(theirs[inner]) - 55


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
@pytest.mark.parametrize("frequency_hz", [9_500.0, 12_000.0, 15_000.0])
def test_what_16_khz_cannot_hold_is_gone(rate_hz: int, frequency_hz: float) -> None:
    sound = tone(frequency_hz, 1.0, rate_hz)
    ours = streamed(pcm_of(sound), rate_hz, [4800])[400:-400]
    assert level_db(ours) < level_db(sound) - 50
