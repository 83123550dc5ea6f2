"""Where speech ends while it comes in: as on a file, whatever the chunks."""

import itertools
from collections.abc import Sequence
from typing import Any

import faster_whisper.vad
import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from recorder.resources import shipped
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.detector import FRAME, speech_spans
from recorder.voice.endpoint import (
    WITH_BEFORE_S,
    Began,
    Dropped,
    Ended,
    Endpointer,
    Event,
    Paused,
    Resumed,
)
from recorder.voice.transcribe import LONGEST_S, PAD_S, PAUSE_S
from recorder.voice.windows import window_of

NARRATION = shipped("demo_media") / "job" / "narration.flac"
_PAD = int(PAD_S * SAMPLE_RATE_HZ)


@pytest.fixture(scope="module")
def narration() -> np.ndarray:
    return decode(NARRATION)


@pytest.fixture(scope="module")
def events(narration: np.ndarray) -> list[Event]:
    """Of the whole narration, in chunks of a tenth of a second."""
    return fed(narration, 1_600)


class Scripted:
    """Stands in for the network: each frame's first sample says how sure of speech it is."""

    class _Session:
        def run(self, _: None, given: dict[str, Any]) -> tuple[Any, Any, Any]:
            return given["input"][:, -FRAME : -FRAME + 1].copy(), given["h"], given["c"]

    session = _Session()

    def __call__(self, samples: np.ndarray) -> np.ndarray:
        return samples.reshape(-1, FRAME)[:, :1]


@pytest.fixture
def scripted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(faster_whisper.vad, "get_vad_model", Scripted)


def sound_of(sureness: Sequence[float]) -> np.ndarray:
    """One frame for each, loud enough that no gain changes it."""
    samples = np.full((len(sureness), FRAME), 0.3, np.float32)
    samples[:, 0] = sureness
    return samples.reshape(-1)


def fed(samples: np.ndarray, chunk: int) -> list[Event]:
    endpointer = Endpointer()
    events: list[Event] = []
    for at in range(0, samples.size, chunk):
        events += endpointer.feed(samples[at : at + chunk])
    return events + endpointer.finish()


def spans(events: list[Event]) -> list[tuple[int, int]]:
    return [event.window.spans[-1] for event in events if isinstance(event, Ended)]


def own_samples(event: Paused | Ended) -> np.ndarray:
    """Without what was said before it."""
    return event.window.samples[event.window.starts[-1] :]


def ends(events: list[Event]) -> list[Ended]:
    return [event for event in events if isinstance(event, Ended)]


def test_the_utterances_of_the_file_path(narration: np.ndarray, events: list[Event]) -> None:
    assert spans(events) == speech_spans(narration, PAUSE_S, PAD_S, LONGEST_S)
    assert len(ends(events)) >= 12


@pytest.mark.parametrize("chunk", [160, 1_601, 16_000, 2_000_000])
def test_the_same_utterances_from_chunks_of_any_size(narration: np.ndarray, chunk: int) -> None:
    part = narration[: 20 * SAMPLE_RATE_HZ]
    found = spans(fed(part, chunk))
    assert found == speech_spans(part, PAUSE_S, PAD_S, LONGEST_S)
    assert len(found) >= 3


def test_the_utterances_of_the_file_path_in_noise(narration: np.ndarray) -> None:
    part = narration[: 40 * SAMPLE_RATE_HZ]
    noisy = (part + 0.01 * np.random.default_rng(3).standard_normal(part.size)).astype(np.float32)
    assert spans(fed(noisy, 4_800)) == speech_spans(noisy, PAUSE_S, PAD_S, LONGEST_S)


def test_each_utterance_brings_its_samples(narration: np.ndarray, events: list[Event]) -> None:
    for event in ends(events):
        assert np.array_equal(own_samples(event), narration[slice(*event.window.spans[-1])])


def test_what_was_said_before_comes_with_it(narration: np.ndarray, events: list[Event]) -> None:
    """As much as there is room for, in windows of the same making as those of a file."""
    ended = ends(events)
    told = [event.window.spans[-1] for event in ended]
    for number, event in enumerate(ended):
        spans = event.window.spans
        assert list(spans) == told[number + 1 - len(spans) : number + 1]
        assert event.window.samples.size <= WITH_BEFORE_S * SAMPLE_RATE_HZ
        wanted = window_of(narration, spans, _PAD)
        assert np.array_equal(event.window.samples, wanted.samples)
        assert event.window.starts == wanted.starts
    assert max(len(event.window.spans) for event in ended) >= 4


def test_what_was_said_long_ago_is_left_out(narration: np.ndarray) -> None:
    first = speech_spans(narration, PAUSE_S, PAD_S, LONGEST_S)[0]
    said = narration[: first[1] + SAMPLE_RATE_HZ]
    for minutes, together in ((0.5, 2), (1.5, 1)):
        silence = np.zeros(int(60 * minutes * SAMPLE_RATE_HZ), np.float32)
        events = ends(fed(np.concatenate([said, silence, said]), 16_000))
        assert [len(event.window.spans) for event in events] == [1, together]


def test_a_pause_that_was_the_end_brought_the_same_samples(events: list[Event]) -> None:
    at_once = [
        (before, after)
        for before, after in itertools.pairwise(events)
        if isinstance(before, Paused) and isinstance(after, Ended)
    ]
    assert len(at_once) >= 12
    for before, after in at_once:
        assert before.window.spans == after.window.spans
        assert np.array_equal(before.window.samples, after.window.samples)


_RUNS = st.lists(  # too short in all to be cut
    st.tuples(st.sampled_from([0.02, 0.3, 0.4, 0.51, 0.9]), st.integers(1, 30)),
    min_size=1, max_size=30,
)  # fmt: skip


@pytest.mark.usefixtures("scripted")
def test_any_course_of_sureness_ends_as_on_a_file() -> None:
    @settings(max_examples=80, deadline=None)
    @given(runs=_RUNS, chunk=st.integers(1, 9_000))
    @example(runs=[(0.9, 3), (0.02, 30)], chunk=512)
    def hold(runs: list[tuple[float, int]], chunk: int) -> None:
        sureness = [sure for sure, frames in runs for _ in range(frames)]
        samples = sound_of(sureness)
        events = fed(samples, chunk)
        assert spans(events) == speech_spans(samples, PAUSE_S, PAD_S, LONGEST_S)
        _in_order(events)

    hold()


def _in_order(events: list[Event]) -> None:
    """Each kind follows only those that it can follow."""
    follows = {
        None: (Began,),
        Began: (Paused, Ended, Dropped),
        Paused: (Resumed, Ended, Dropped),
        Resumed: (Paused, Ended, Dropped),
        Ended: (Began, Paused, Ended),  # the last two: after a speech that was cut
        Dropped: (Began,),
    }
    before: type | None = None
    for event in events:
        assert isinstance(event, follows[before]), (before, event)
        before = type(event)


@pytest.mark.usefixtures("scripted")
def test_a_speech_without_end_is_cut_at_its_last_breath() -> None:
    speech = [0.9] * 600 + [0.02] * 6 + [0.9] * 900
    samples = sound_of([*speech, *[0.02] * 30])
    found = spans(fed(samples, 4_800))
    assert found == speech_spans(samples, PAUSE_S, PAD_S, LONGEST_S)
    assert len(found) == 2
    assert found[0][1] == 603 * FRAME  # in the middle of the breath
    assert all(last - first <= 30 * SAMPLE_RATE_HZ for first, last in found)


@pytest.mark.usefixtures("scripted")
def test_a_speech_without_end_or_breath_is_cut_where_it_is() -> None:
    samples = sound_of([0.9] * 2_400)
    found = spans(fed(samples, 4_800))
    assert found == speech_spans(samples, PAUSE_S, PAD_S, LONGEST_S)
    assert len(found) == 3


def test_it_keeps_no_more_than_the_utterance(narration: np.ndarray) -> None:
    endpointer = Endpointer()
    silence = np.zeros(4_800, np.float32)
    for sound in (*np.array_split(narration, 300), *[silence] * 250):
        endpointer.feed(sound)
        assert endpointer._kept.size <= 90 * SAMPLE_RATE_HZ
    assert endpointer._kept.size <= 2 * _PAD


def test_a_stretch_can_be_taken_up_in_its_middle(
    narration: np.ndarray, events: list[Event]
) -> None:
    whole = spans(events)
    at = whole[3][1]
    endpointer = Endpointer(at)
    found = spans(endpointer.feed(narration[at:]) + endpointer.finish())
    assert len(found) == len(whole) - 4
    for span, wanted in zip(found, whole[4:], strict=True):  # its frames lie elsewhere
        assert np.abs(np.subtract(span, wanted)).max() <= 6 * FRAME


def test_a_whisper_from_deep_in_a_pocket_is_found(narration: np.ndarray) -> None:
    quiet = (0.004 * narration[: 30 * SAMPLE_RATE_HZ]).astype(np.float32)
    found = spans(fed(quiet, 1_600))
    wanted = speech_spans(narration[: 30 * SAMPLE_RATE_HZ], PAUSE_S, PAD_S, LONGEST_S)
    assert len(found) == len(wanted)
    for (start, end), (first, last) in zip(found, wanted, strict=True):
        assert abs(start - first) < 0.3 * SAMPLE_RATE_HZ
        assert abs(end - last) < 0.3 * SAMPLE_RATE_HZ


@pytest.mark.parametrize("kind", ["silence", "hiss", "faint hiss", "hum"])
def test_sound_without_speech_is_no_utterance(kind: str) -> None:
    seconds = 8
    hiss = np.random.default_rng(7).standard_normal(seconds * SAMPLE_RATE_HZ)
    time_s = np.arange(hiss.size) / SAMPLE_RATE_HZ
    samples = {
        "silence": 0 * hiss, "hiss": 0.1 * hiss, "faint hiss": 0.0005 * hiss,
        "hum": 0.3 * np.sin(2 * np.pi * 50 * time_s),
    }[kind]  # fmt: skip
    assert spans(fed(samples.astype(np.float32), 1_600)) == []
