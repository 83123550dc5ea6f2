"""Utterances in windows, and words back in their utterances."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.model.transcript import Word
from recorder.voice.audio import SAMPLE_RATE_HZ
from recorder.voice.windows import LONGEST_PAUSE_S, Span, windows

RATE = SAMPLE_RATE_HZ


def spans(*seconds: tuple[float, float]) -> list[Span]:
    return [(int(a * RATE), int(b * RATE)) for a, b in seconds]


def word(text: str, start_s: float, end_s: float) -> Word:
    return Word(text=text, start_s=start_s, end_s=end_s, probability=0.9)


def test_a_window_holds_whole_utterances_and_short_pauses() -> None:
    samples = np.arange(60 * RATE, dtype=np.float32)
    first, second = windows(samples, spans((1, 11), (11.5, 21), (49, 59.5)), 0.2, 30)
    assert first.spans == tuple(spans((1, 11), (11.5, 21)))
    assert np.array_equal(first.samples, samples[1 * RATE : 21 * RATE])  # a short pause stays
    assert second.spans == tuple(spans((49, 59.5)))


def test_a_long_pause_is_shortened_from_its_middle() -> None:
    samples = np.arange(40 * RATE, dtype=np.float32)
    (window,) = windows(samples, spans((0, 2), (32, 34)), 0.2, 30)
    assert window.samples.size == (4 + LONGEST_PAUSE_S) * RATE
    half = int(LONGEST_PAUSE_S / 2 * RATE)
    assert np.array_equal(window.samples[: 2 * RATE + half], samples[: 2 * RATE + half])
    assert np.array_equal(window.samples[2 * RATE + half :], samples[32 * RATE - half : 34 * RATE])


def test_words_come_back_with_the_recordings_times() -> None:
    samples = np.zeros(40 * RATE, np.float32)
    (window,) = windows(samples, spans((1, 3), (32, 34)), 0.2, 30)
    one, two = window.cut([word("top", 0.5, 1.0), word("bottom", 3.4, 4.0)])
    assert [(w.text, w.start_s, w.end_s) for w in one] == [("top", 1.5, 2.0)]
    assert [(w.text, w.start_s, w.end_s) for w in two] == [("bottom", 32.4, 33.0)]


@pytest.mark.parametrize(
    ("start_s", "end_s", "utterance"),
    [
        (1.4, 3.1, 0),  # the last word of an utterance, lasting over the pause
        (1.75, 3.9, 1),  # the first word of the next one, beginning in the pause
        (2.1, 2.3, 0),  # wholly in the pause: where it is nearer
        (2.7, 2.9, 1),
    ],
)
def test_a_word_over_a_pause_belongs_to_the_speech_it_shares(
    start_s: float, end_s: float, utterance: int
) -> None:
    samples = np.zeros(10 * RATE, np.float32)
    (window,) = windows(samples, spans((0, 2), (3, 5)), 0.2, 30)
    parts = window.cut([word("bar", start_s, end_s)])
    assert [len(part) for part in parts] == [utterance == 0, utterance == 1]
    (cut,) = parts[utterance]
    first, last = [(0, 2), (3, 5)][utterance]
    assert cut.start_s is not None
    assert cut.end_s is not None
    assert first <= cut.start_s <= cut.end_s <= last


@given(
    st.lists(st.tuples(st.floats(0.3, 29), st.floats(0.6, 40)), min_size=1, max_size=8),
    st.lists(st.floats(0, 60), max_size=30),
)
def test_no_utterance_and_no_word_is_lost_or_doubled(
    told: list[tuple[float, float]], times_s: list[float]
) -> None:
    found, at = [], 0.5
    for length_s, pause_s in told:
        found.append((at, at + length_s))
        at += length_s + pause_s
    given_spans = spans(*found)
    samples = np.zeros(int(at * RATE), np.float32)
    made = list(windows(samples, given_spans, 0.2, 30))
    assert [span for window in made for span in window.spans] == given_spans
    words = [word(str(n), t, t + 0.3) for n, t in enumerate(sorted(times_s))]
    for window in made:
        assert window.samples.size <= 30 * RATE
        assert [w.text for part in window.cut(words) for w in part] == [w.text for w in words]
