"""Sound in pieces of any size becomes what it would have become in one piece."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.stream import Stream
from tests.voice.sound import tone, write

RATES = (8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000, 192_000)


def pcm_of(samples: np.ndarray) -> bytes:
    return (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()


def streamed(pcm: bytes, rate_hz: int, pieces: list[int]) -> np.ndarray:
    """``pieces``: how many samples each time, round and round."""
    stream, parts, at, turn = Stream(rate_hz), [], 0, 0
    while at < len(pcm):
        size = 2 * pieces[turn % len(pieces)]
        parts.append(stream.feed(pcm[at : at + size]))
        at, turn = at + size, turn + 1
    return np.concatenate([*parts, stream.flush()])


@pytest.mark.parametrize("rate_hz", RATES)
def test_the_same_as_decoded_in_one_piece(tmp_path: Path, rate_hz: int) -> None:
    noise = 0.1 * np.random.default_rng(rate_hz).standard_normal(2 * rate_hz)
    sound = noise + tone(440.0, 2.0, rate_hz)
    whole = decode(write(tmp_path / "a.wav", sound, rate_hz))
    pieces = streamed(pcm_of(sound), rate_hz, [rate_hz // 10, 128, 1, 4097])
    assert pieces.dtype == np.float32
    assert np.array_equal(pieces, whole)


@settings(max_examples=25, deadline=None)
@given(
    rate_hz=st.sampled_from(RATES),
    pieces=st.lists(st.integers(1, 5000), min_size=1, max_size=8),
)
def test_no_size_of_the_pieces_makes_a_click(rate_hz: int, pieces: list[int]) -> None:
    sound = tone(300.0, 0.4, rate_hz)
    out = streamed(pcm_of(sound), rate_hz, pieces)
    wanted = tone(300.0, 0.4, SAMPLE_RATE_HZ)
    inner = slice(200, min(out.size, wanted.size) - 200)
    assert np.abs(out[inner] - wanted[inner]).max() < 2e-4


@pytest.mark.parametrize("rate_hz", RATES)
def test_an_hour_does_not_drift(rate_hz: int) -> None:
    """Counted over ten minutes of pieces that fit no frame; less than 2 ms are ever held back."""
    stream, given_samples, out = Stream(rate_hz), 0, 0
    piece = np.zeros(4 * rate_hz + 37, "<i2").tobytes()
    for _ in range(150):
        out += stream.feed(piece).size
        given_samples += len(piece) // 2
        assert 0 <= given_samples * SAMPLE_RATE_HZ / rate_hz - out <= 33
    out += stream.flush().size
    assert abs(given_samples * SAMPLE_RATE_HZ / rate_hz - out) <= 1


@pytest.mark.parametrize("rate_hz", [0, -48_000, 7_999, 384_001])
def test_a_rate_of_no_microphone_is_refused(rate_hz: int) -> None:
    with pytest.raises(ValueError, match="no rate of a microphone"):
        Stream(rate_hz)


def test_nothing_gives_nothing() -> None:
    stream = Stream(48_000)
    assert stream.feed(b"").size == 0
    assert stream.flush().size == 0
