"""The ear: what is begun is heard in order, and what is dropped costs nothing more."""

import threading
from collections.abc import Iterator
from concurrent.futures import CancelledError

import numpy as np
import pytest

from recorder.errors import EngineMissing
from recorder.model.transcript import Word
from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.live import Ear
from recorder.voice.whisper import WAYS, Decoding
from recorder.voice.windows import Window

SAMPLES = np.full(16_000, 0.1, np.float32)
_PATIENCE_S = 60.0


def window(start: int = 0) -> Window:
    return Window(SAMPLES, ((start, start + SAMPLES.size),), (0,), 3_200)


class Scripted:
    """Stands in for the recogniser: hears its prompt, and waits after each way when it is told."""

    def __init__(self) -> None:
        self.heard: list[str] = []
        self.ways = 0
        self.reached = threading.Event()
        self.go_on = threading.Event()
        self.go_on.set()

    def listen(self, samples: np.ndarray, prompt: str) -> Iterator[Decoding]:
        self.heard.append(prompt)
        if prompt == "broken":
            raise RuntimeError("it broke")
        words = tuple(Word(text=text, start_s=0.2, end_s=0.4) for text in prompt.split())
        for way in WAYS:
            self.ways += 1
            yield Decoding(way.name, words, 0.01)
            self.reached.set()
            assert self.go_on.wait(_PATIENCE_S)


@pytest.fixture
def recogniser(monkeypatch: pytest.MonkeyPatch) -> Scripted:
    scripted = Scripted()
    monkeypatch.setattr(whisper, "load", lambda _: scripted)
    return scripted


@pytest.fixture
def ear(recogniser: Scripted) -> Iterator[Ear]:
    ear = Ear(SpeechSettings())
    yield ear
    recogniser.go_on.set()
    ear.close()


def test_an_utterance_lies_where_it_was_said(ear: Ear) -> None:
    utterance = ear.begin(window(32_000), "two bar").result(_PATIENCE_S)
    assert utterance is not None
    assert utterance.text == "two bar"
    assert (utterance.start_s, utterance.end_s) == (2.0, 3.0)
    assert utterance.words[0].start_s == 2.2
    assert [other.way for other in utterance.others] == [way.name for way in WAYS[1:]]


def test_only_the_last_of_a_window_is_told(ear: Ear) -> None:
    """The words lie at 0.2 to 0.4 s of the window, which is before the last utterance."""
    both = Window(np.tile(SAMPLES, 3), ((0, 16_000), (48_000, 80_000)), (0, 16_000), 3_200)
    shown: list[str] = []
    assert ear.begin(both, "two bar", shown.append).result(_PATIENCE_S) is None
    assert shown == [""]


def test_nothing_said_is_nothing_heard(ear: Ear) -> None:
    assert ear.begin(window(), "").result(_PATIENCE_S) is None


def test_all_are_heard_in_order(ear: Ear, recogniser: Scripted) -> None:
    said = [f"number {n}" for n in range(20)]
    pending = [ear.begin(window(), text) for text in said]
    heard = [one.result(_PATIENCE_S) for one in pending]
    assert [utterance.text for utterance in heard if utterance] == said
    assert recogniser.heard == said


def test_the_first_text_comes_before_the_rest(ear: Ear, recogniser: Scripted) -> None:
    recogniser.go_on.clear()
    shown: list[str] = []
    pending = ear.begin(window(), "two bar", shown.append)
    assert recogniser.reached.wait(_PATIENCE_S)
    assert shown == ["two bar"]
    assert not pending.future.done()


def test_text_of_a_guess_is_shown_once_it_counts(ear: Ear, recogniser: Scripted) -> None:
    recogniser.go_on.clear()
    shown: list[str] = []
    pending = ear.begin(window(), "two bar")
    assert recogniser.reached.wait(_PATIENCE_S)
    assert shown == []
    pending.show(shown.append)
    assert shown == ["two bar"]
    recogniser.go_on.set()
    assert pending.result(_PATIENCE_S) is not None
    assert shown == ["two bar"]


def test_what_is_dropped_is_heard_no_further(ear: Ear, recogniser: Scripted) -> None:
    recogniser.go_on.clear()
    first, second = ear.begin(window(), "first"), ear.begin(window(), "second")
    third = ear.begin(window(), "third")
    assert recogniser.reached.wait(_PATIENCE_S)
    first.drop()
    second.drop()
    recogniser.go_on.set()
    assert third.result(_PATIENCE_S) is not None
    assert first.result(_PATIENCE_S) is None
    with pytest.raises(CancelledError):
        second.result(_PATIENCE_S)
    assert recogniser.heard == ["first", "third"]
    assert recogniser.ways < 2 * len(WAYS)


def test_one_that_fails_does_not_stop_the_others(ear: Ear) -> None:
    broken, whole = ear.begin(window(), "broken"), ear.begin(window(), "whole")
    with pytest.raises(RuntimeError, match="it broke"):
        broken.result(_PATIENCE_S)
    assert whole.result(_PATIENCE_S) is not None


def test_a_missing_model_is_told_to_who_waits() -> None:
    ear = Ear(SpeechSettings(model="/nowhere/at-all"))
    with pytest.raises(EngineMissing, match=r"speech\.model|fetch it once"):
        ear.begin(window(), "").result(_PATIENCE_S)
    with pytest.raises(EngineMissing):
        ear.begin(window(), "").result(_PATIENCE_S)
    ear.close()


def test_a_closed_ear_keeps_nobody_waiting(recogniser: Scripted) -> None:
    recogniser.go_on.clear()
    ear = Ear(SpeechSettings())
    now, waiting = ear.begin(window(), "now"), ear.begin(window(), "waiting")
    assert recogniser.reached.wait(_PATIENCE_S)
    closing = threading.Thread(target=ear.close)
    closing.start()
    recogniser.go_on.set()
    closing.join(_PATIENCE_S)
    assert now.result(_PATIENCE_S) is not None
    for left in (waiting, ear.begin(window(), "too late")):
        with pytest.raises(CancelledError):
            left.result(_PATIENCE_S)


class Lost:
    """Hears a short answer only where nothing stands before it."""

    def listen(self, samples: np.ndarray, prompt: str) -> Iterator[Decoding]:
        at_s = 0.5
        told = [Word(text="Yes.", start_s=at_s, end_s=at_s + 0.1)]
        for way in WAYS:
            yield Decoding(way.name, tuple(told), 0.01)


def after_another(length: int) -> Window:
    """An utterance of so many samples, close behind one of a second."""
    size = SAMPLES.size
    sound = np.concatenate([SAMPLES, np.full(length, 0.1, np.float32)])
    return Window(sound, ((0, size), (size, size + length)), (0, size), 3_200)


def test_a_short_answer_that_is_lost_behind_another_is_heard_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(whisper, "load", lambda _: Lost())
    ear = Ear(SpeechSettings())
    heard = ear.begin(after_another(16_000), "").result(_PATIENCE_S)
    assert heard is not None
    assert (heard.text, heard.start_s, heard.words[0].start_s) == ("Yes.", 1.0, 1.5)
    assert ear.begin(after_another(32_000), "").result(_PATIENCE_S) is None  # not a short one
    ear.close()


class Leaking:
    """Puts the word before into whatever stands behind it. lost: hears nothing where none does."""

    def __init__(self, lost: bool = False) -> None:
        self.lost = lost

    def listen(self, samples: np.ndarray, prompt: str) -> Iterator[Decoding]:
        size_s = samples.size / 16_000
        words = [Word(text="Yes.", start_s=size_s - 0.5, end_s=size_s - 0.4)]
        if size_s > 1.2:
            words.insert(0, Word(text="finish,", start_s=size_s - 0.6, end_s=size_s - 0.5))
        for way in WAYS:
            yield Decoding(way.name, () if self.lost and size_s < 1.2 else tuple(words), 0.01)


@pytest.mark.parametrize(
    ("length", "lost", "text"),
    [(14_000, False, "Yes."), (14_000, True, "finish, Yes."), (20_000, False, "finish, Yes.")],
)
def test_a_word_is_heard_alone_if_anything_is_heard_so(
    monkeypatch: pytest.MonkeyPatch, length: int, lost: bool, text: str
) -> None:
    monkeypatch.setattr(whisper, "load", lambda _: Leaking(lost))
    ear = Ear(SpeechSettings())
    heard = ear.begin(after_another(length), "").result(_PATIENCE_S)
    assert heard is not None
    assert heard.text == text
    ear.close()
