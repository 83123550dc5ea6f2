"""A stretch of sound, chunk by chunk: the real engines hear what they hear on a file."""

from collections.abc import Iterator

import numpy as np
import pytest

from recorder.model.transcript import Utterance
from recorder.resources import shipped
from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from recorder.voice.detector import speech_spans
from recorder.voice.level import audible
from recorder.voice.listening import Listening
from recorder.voice.live import Ear, Pending
from recorder.voice.transcribe import LONGEST_S, PAD_S, PAUSE_S, utterances_of
from recorder.voice.windows import Window, window_of
from tests.voice.test_stream import pcm_of

NARRATION = shipped("demo_media") / "job" / "narration.flac"
PROMPT = "Pressure, bar, top platen, dwell, minutes."
_CHUNK_S = 0.1
_PATIENCE_S = 120.0


@pytest.fixture(scope="module")
def sound() -> np.ndarray:
    """The first three utterances of the demo's narration."""
    return decode(NARRATION)[: 15 * SAMPLE_RATE_HZ]


@pytest.fixture(scope="module")
def ear() -> Iterator[Ear]:
    ear = Ear(SpeechSettings())
    yield ear
    ear.close()


def listened(listening: Listening, sound: np.ndarray, rate_hz: int) -> list[Pending]:
    pcm = pcm_of(sound)
    chunk = 2 * int(_CHUNK_S * rate_hz)
    found = [
        pending
        for at in range(0, len(pcm), chunk)
        for pending in listening.feed(pcm[at : at + chunk])
    ]
    return found + listening.finish()


def heard(pending: list[Pending]) -> list[Utterance]:
    return [one for p in pending if (one := p.result(_PATIENCE_S)) is not None]


def test_each_utterance_is_heard_as_the_recogniser_hears_its_samples(
    ear: Ear, sound: np.ndarray
) -> None:
    shown: list[str] = []
    found = heard(listened(Listening(16_000, ear, lambda: PROMPT, shown.append), sound, 16_000))
    given = np.frombuffer(pcm_of(sound), "<i2").astype(np.float32) / 32768
    spans = speech_spans(given, PAUSE_S, PAD_S, LONGEST_S)
    recogniser = whisper.load(SpeechSettings())
    for number, utterance in enumerate(found):
        window = window_of(given, spans[: number + 1], int(PAD_S * SAMPLE_RATE_HZ))
        hearings = recogniser.hear(audible(window.samples), PROMPT)
        assert utterance == utterances_of(window, hearings)[-1]
    assert len(found) == len(spans) >= 3
    assert shown == [utterance.text for utterance in found]
    assert shown == [utterance.text for utterance in found]


def test_a_microphone_at_48_khz_is_heard_too(ear: Ear, sound: np.ndarray) -> None:
    at = np.arange(0, 9.5 * SAMPLE_RATE_HZ - 1, 1 / 3)
    fine = np.interp(at, np.arange(sound.size), sound)
    found = heard(listened(Listening(48_000, ear, lambda: PROMPT), fine, 48_000))
    text = " ".join(utterance.text for utterance in found).lower()
    assert "4817" in text
    assert "isolation confirmed" in text


def test_speech_that_is_half_blanked_is_heard_from_there_on(ear: Ear, sound: np.ndarray) -> None:
    """As when a person begins to speak before the recorder has ended."""
    first, second = speech_spans(sound, PAUSE_S, PAD_S, LONGEST_S)[:2]
    blanked = sound[: second[1] + SAMPLE_RATE_HZ].copy()
    blanked[: first[1]] = 0.0
    found = heard(listened(Listening(16_000, ear, lambda: PROMPT), blanked, 16_000))
    assert [round(u.start_s * SAMPLE_RATE_HZ) for u in found if u.start_s] == pytest.approx(
        [second[0]], abs=SAMPLE_RATE_HZ // 10
    )


class Counting:
    """Stands in for the ear: keeps what it was asked to hear."""

    def __init__(self, idle: bool) -> None:
        self.idle = idle
        self.begun: list[Pending] = []

    def begin(self, window: Window, prompt: str, early: object = None) -> Pending:
        self.begun.append(Pending(window, prompt, None))
        return self.begun[-1]


def test_an_end_that_was_heard_early_is_not_heard_again(sound: np.ndarray) -> None:
    ear = Counting(idle=True)
    found = listened(Listening(16_000, ear, lambda: ""), sound, 16_000)  # type: ignore[arg-type]
    dropped = [one for one in ear.begun if one.dropped.is_set()]
    assert len(ear.begun) == len(found) + len(dropped)
    assert all(one in ear.begun and not one.dropped.is_set() for one in found)
    assert len(found) >= 3


def test_an_ear_that_is_behind_hears_nothing_early(sound: np.ndarray) -> None:
    ear = Counting(idle=False)
    found = listened(Listening(16_000, ear, lambda: ""), sound, 16_000)  # type: ignore[arg-type]
    assert ear.begun == found


def test_speech_that_goes_on_throws_away_what_was_heard_early(sound: np.ndarray) -> None:
    first, second = speech_spans(sound, PAUSE_S, PAD_S, LONGEST_S)[:2]
    pause = np.zeros(int(0.1 * SAMPLE_RATE_HZ), np.float32)
    joined = np.concatenate([sound[: first[1]], pause, sound[second[0] : second[1]]])
    ear = Counting(idle=True)
    found = listened(Listening(16_000, ear, lambda: ""), joined, 16_000)  # type: ignore[arg-type]
    assert len(found) == 1
    assert [one.dropped.is_set() for one in ear.begun] == [True, False]


def test_one_that_is_thrown_away_drops_what_it_began(sound: np.ndarray) -> None:
    first = speech_spans(sound, PAUSE_S, PAD_S, LONGEST_S)[0]
    ear = Counting(idle=True)
    listening = Listening(16_000, ear, lambda: "")  # type: ignore[arg-type]
    assert listening.feed(pcm_of(sound[: first[1] + 2_000])) == []
    listening.stop()
    assert [one.dropped.is_set() for one in ear.begun] == [True]


def test_a_stretch_that_is_taken_up_later_keeps_its_times(sound: np.ndarray) -> None:
    ear = Counting(idle=True)
    whole = listened(Listening(16_000, ear, lambda: ""), sound, 16_000)  # type: ignore[arg-type]
    at = whole[1].end
    later = Listening(16_000, ear, lambda: "", at=at)  # type: ignore[arg-type]
    found = listened(later, sound[at:], 16_000)
    assert len(found) == len(whole) - 2
    for one, wanted in zip(found, whole[2:], strict=True):
        assert abs(one.start - wanted.start) <= 512
