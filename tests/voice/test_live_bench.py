"""The bench of live hearing measures what it says: planted delays and losses come out."""

import threading
from collections.abc import Callable

import numpy as np
import pytest

from recorder.model.transcript import Utterance, Word
from recorder.resources import shipped
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.live import Ear, Early, Pending
from recorder.voice.windows import Window
from tests.bench.live.latency import Times, run
from tests.bench.live.readings import as_live
from tests.bench.voices import Recording
from tests.flows.live.scripted import PAUSE_S, Script
from tests.flows.live.scripted import Pending as ScriptedPending

NARRATION = shipped("demo_media") / "job" / "narration.flac"
_SLOW_S = 0.5
_LINE_S = 3.2


class Slow(Script):
    """An ear with a script, whose answer comes late."""

    def hear(self, number: int, pending: ScriptedPending, early: Callable[[str], None]) -> None:
        early("first text")
        threading.Event().wait(_SLOW_S)
        super().hear(number, pending, lambda _: None)


def recording(number: int) -> Recording:
    """A line that the ear knows by its number, and silence after it."""
    sound = np.zeros(int((_LINE_S + 1.2) * SAMPLE_RATE_HZ))
    line = (SAMPLE_RATE_HZ // 2, SAMPLE_RATE_HZ // 2 + int(_LINE_S * SAMPLE_RATE_HZ))
    sound[slice(*line)] = (number + 0.5) / 32767
    return Recording(sound, (line,))


def test_a_planted_delay_comes_out() -> None:
    """The pause that ends an utterance is in the times, and so is what the ear takes."""
    times = Times()
    run(recording(1), Slow(["Pressure two bar."]), times)
    assert times.missed == 0
    assert len(times.text) == len(times.answer) == 1
    assert times.text[0] >= PAUSE_S - 0.1
    assert times.answer[0] >= max(times.text[0], PAUSE_S - 0.1 + _SLOW_S)
    assert len(times.late) == len(times.kept) == 44


def test_a_line_that_was_never_shown_is_counted() -> None:
    times = Times()
    run(recording(1), Script([""]), times)
    assert (times.missed, times.answer) == (1, [])


class Heard(Ear):
    """Stands in for the recogniser's thread, and answers at once."""

    model = "scripted"
    idle = False  # nothing is heard ahead of its end

    def __init__(self, text: str) -> None:
        self._text = text

    def begin(self, window: Window, prompt: str, early: Early | None = None) -> Pending:
        pending = Pending(window, prompt, early)
        start, end = (sample / SAMPLE_RATE_HZ for sample in window.spans[-1])
        words = tuple(Word(text=text, start_s=start, end_s=end) for text in self._text.split())
        said = Utterance(words=words, start_s=start, end_s=end) if words else None
        pending.future.set_result(said)
        return pending


@pytest.mark.parametrize("text", ["Pressure two bar.", ""])
def test_what_was_heard_live_is_a_transcript(text: str) -> None:
    sound = decode(NARRATION)[: 10 * SAMPLE_RATE_HZ].astype(np.float64)
    transcript = as_live(sound, Heard(text))
    assert {utterance.text for utterance in transcript.utterances} == ({text} if text else set())
    assert len(transcript.utterances) == (2 if text else 0)
    assert transcript.model == "scripted"
