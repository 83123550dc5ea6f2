"""What holds the record against the fed sound finds what it must find."""

import numpy as np
import pytest

from tests.web.live import fed

NOISE = fed.noise()[:50_000]
SILENCE = np.zeros(441, np.int16)


def test_sound_in_order_is_followed_over_silence_and_holes() -> None:
    kept = np.concatenate(
        [SILENCE, NOISE[1000:2000], SILENCE, NOISE[2000:9000], NOISE[9500:20_000]]
    )
    assert fed.followed(NOISE, kept) == pytest.approx(1 - 500 / 19_000)


@pytest.mark.parametrize(
    "kept",
    [
        np.concatenate([NOISE[:4410], NOISE[:4410]]),
        np.concatenate([NOISE[4410:8820], NOISE[:4410]]),
        np.concatenate([NOISE[:4410], NOISE[:4410][::-1]]),
        SILENCE,
    ],
    ids=["twice", "out of order", "another", "none"],
)
def test_sound_that_is_not_as_it_was_fed_is_found(kept: fed.Samples) -> None:
    with pytest.raises(AssertionError):
        fed.followed(NOISE, kept)
