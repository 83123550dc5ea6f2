"""The bench of live hearing measures what it says: planted delays and losses come out."""

import threading

import numpy as np
import pytest

from recorder.model.transcript import Utterance, Word
from recorder.resources import shipped
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.detector import speech_spans
from recorder.voice.live import Ear, Early, Pending
from recorder.voice.transcribe import LONGEST_S, PAD_S, PAUSE_S
from recorder.voice.windows import Window
from tests.bench.live.latency import Times, _nearest, _Session
from tests.bench.live.readings import as_live
from tests.bench.voices import Recording

NARRATION = shipped("demo_media") / "job" / "narration.flac"


class Scripted(Ear):
    """Stands in for the ear, and answers at once or so much later."""

    model = "scripted"
    idle = False  # nothing is heard ahead of its end

    def __init__(self, deaf: bool = False, slow_s: float = 0.0) -> None:
        self._deaf, self._slow_s = deaf, slow_s

    def begin(self, window: Window, prompt: str, early: Early | None = None) -> Pending:
        pending = Pending(window, prompt, early)
        pending.first("Pressure two bar.")
        start, end = (sample / SAMPLE_RATE_HZ for sample in window.spans[-1])
        words = tuple(
            Word(text=text, start_s=start, end_s=end, probability=0.9)
            for text in ("Pressure", "two", "bar.")
        )
        heard = None if self._deaf else Utterance(words=words, start_s=start, end_s=end)
        threading.Timer(self._slow_s, pending.future.set_result, (heard,)).start()
        return pending


@pytest.fixture(scope="module")
def recording() -> Recording:
    """Two utterances of the demo, of 3 to 6 s."""
    sound = decode(NARRATION)
    first, second = speech_spans(sound, PAUSE_S, PAD_S, LONGEST_S)[:2]
    pad = int(PAD_S * SAMPLE_RATE_HZ)
    told = tuple((start + pad, end - pad) for start, end in (first, second))
    return Recording(sound[: second[1] + SAMPLE_RATE_HZ].astype(np.float64), told)


def test_a_planted_delay_comes_out(recording: Recording) -> None:
    """The pause that ends an utterance is in the times, and so is what the ear takes."""
    first = recording.utterances[0]
    times = Times()
    session = _Session(Scripted(slow_s=0.5), Recording(recording.sound, (first,)), times)
    session.run(recording.sound[: first[1] + SAMPLE_RATE_HZ])
    assert times.missed == 0
    assert len(times.text) == len(times.answer) == 1
    assert times.text[0] >= PAUSE_S
    assert times.answer[0] >= PAUSE_S + 0.45
    assert len(times.late) == pytest.approx(10 * (first[1] / SAMPLE_RATE_HZ + 1), abs=1)


def test_a_line_that_nothing_was_heard_of_is_counted(recording: Recording) -> None:
    """Its end is told where nobody spoke."""
    times, silence = Times(), np.zeros(SAMPLE_RATE_HZ // 2)
    _Session(Scripted(), Recording(silence, ((0, 4 * SAMPLE_RATE_HZ),)), times).run(silence)
    assert (times.missed, times.answer) == (1, [])


def test_each_end_is_found_by_its_place() -> None:
    ends = [16_000, 64_000]
    assert _nearest(16_500, ends) == 16_000
    assert _nearest(60_000, ends) == 64_000
    assert _nearest(40_000, ends) is None


def test_what_was_heard_live_is_a_transcript(recording: Recording) -> None:
    transcript = as_live(recording.sound, Scripted())
    assert len(transcript.utterances) == len(recording.utterances)
    assert transcript.model == "scripted"
    deaf = as_live(recording.sound, Scripted(deaf=True))
    assert deaf.utterances == ()
