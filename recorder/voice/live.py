"""Hearing while a person speaks: one recogniser on a thread of its own."""

from __future__ import annotations

import contextlib
import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future

from recorder.model.transcript import Utterance
from recorder.settings import SpeechSettings
from recorder.voice import whisper
from recorder.voice.audio import SAMPLE_RATE_HZ
from recorder.voice.level import audible
from recorder.voice.transcribe import utterances_of
from recorder.voice.windows import Window

Early = Callable[[str], None]

# Of an utterance, with the silence at both ends: a word, and a short answer.
_WORD_S = 1.0
_SHORT_S = 1.5


class Pending:
    """An utterance that is being heard: the last of its window. start, end: of it, samples at
    16 kHz of the stretch.
    """

    def __init__(self, window: Window, prompt: str, early: Early | None) -> None:
        self.window = window
        self.start, self.end = window.spans[-1]
        self.prompt = prompt
        self._early = early
        self._text: str | None = None
        self._lock = threading.Lock()
        self.dropped = threading.Event()
        self.future: Future[Utterance | None] = Future()

    def result(self, timeout_s: float | None = None) -> Utterance | None:
        """What was heard, None when there was no word in it. Waits. Raises EngineMissing and
        ModelDamaged when nothing can be heard at all, TimeoutError, and CancelledError when it was
        dropped or the ear was closed.
        """
        return self.future.result(timeout_s)

    def drop(self) -> None:
        """It was not the end; nothing of it is wanted any more."""
        self.dropped.set()

    def show(self, early: Early) -> None:
        """It was the end: ``early`` gets the first text, at once when it is there."""
        with self._lock:
            self._early = early
            text = self._text
        if text is not None:
            early(text)

    def first(self, text: str) -> None:
        """The first way of hearing gave this text."""
        with self._lock:
            self._text = text
            early = self._early
        if early is not None:
            early(text)


class Ear:
    """One recogniser for all sessions, on its own thread; nothing here keeps its caller waiting
    but ``Pending.result``.

    The model is loaded on that thread. Where that fails, each ``result`` says why.
    """

    def __init__(self, settings: SpeechSettings) -> None:
        self._settings = settings
        self._queue: queue.SimpleQueue[Pending | None] = queue.SimpleQueue()
        self._closed = False
        self._thread = threading.Thread(target=self._work, name="ear", daemon=True)
        self._thread.start()

    @property
    def model(self) -> str:
        """Name of the model as it stands in transcripts. Raises EngineMissing or ModelDamaged."""
        return whisper.model_name(self._settings)

    @property
    def idle(self) -> bool:
        """Whether nothing waits to be heard."""
        return self._queue.empty()

    def begin(self, window: Window, prompt: str, early: Early | None = None) -> Pending:
        """Hear the last utterance of a window; those before it help to hear it."""
        pending = Pending(window, prompt, early)
        self._queue.put(pending)
        if self._closed:
            self._leave_the_rest()
        return pending

    def close(self) -> None:
        """What waits is not heard any more; its ``result`` raises CancelledError."""
        self._closed = True
        self._queue.put(None)
        self._thread.join()
        self._leave_the_rest()

    def _work(self) -> None:
        while (pending := self._queue.get()) is not None:
            if self._closed or pending.dropped.is_set():
                pending.future.cancel()
                continue
            try:
                pending.future.set_result(self._heard(pending))
            except Exception as error:  # it belongs to who waits for the result
                pending.future.set_exception(error)

    def _leave_the_rest(self) -> None:
        with contextlib.suppress(queue.Empty):
            while True:
                waiting = self._queue.get_nowait()
                if waiting is not None:
                    waiting.future.cancel()

    def _heard(self, pending: Pending) -> Utterance | None:
        """In the window. A word is heard alone, because what was said before it leaks into it: a
        "yes" behind "finish" was heard as "finish, yes". So is a short answer that not every way
        heard in the window, where it gets lost behind another.
        """
        if len(pending.window.spans) == 1:
            return self._heard_in(pending.window, pending)
        if _lasts_s(pending) <= _WORD_S:
            alone = self._heard_in(pending.window.last(), pending)
            return alone if _whole(alone) else self._heard_in(pending.window, pending)
        together = self._heard_in(pending.window, pending)
        if _whole(together) or _lasts_s(pending) > _SHORT_S or pending.dropped.is_set():
            return together
        alone = self._heard_in(pending.window.last(), pending)
        return alone if _whole(alone) else together

    def _heard_in(self, window: Window, pending: Pending) -> Utterance | None:
        recogniser = whisper.load(self._settings)
        hearings: list[whisper.Decoding] = []
        for hearing in recogniser.listen(audible(window.samples), pending.prompt):
            if pending.dropped.is_set():
                return None
            if not hearings:
                pending.first(" ".join(word.text for word in window.cut(hearing.words)[-1]))
            hearings.append(hearing)
        return utterances_of(window, hearings)[-1]


def _lasts_s(pending: Pending) -> float:
    return (pending.end - pending.start) / SAMPLE_RATE_HZ


def _whole(heard: Utterance | None) -> bool:
    """Whether every way heard some word of it."""
    return heard is not None and all((heard.words, *(each.words for each in heard.others)))
