"""What hears: one recogniser for all sessions, and for each stretch what finds its utterances."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from typing import Protocol

from recorder.flows import evidence
from recorder.model.software import Software
from recorder.model.transcript import Utterance
from recorder.settings import SpeechSettings
from recorder.voice.listening import Listening
from recorder.voice.live import Ear


class Coming(Protocol):
    """An utterance that is being heard. start, end: samples of the stretch, at 16 kHz. future:
    what was heard, None where there was no word in it.
    """

    @property
    def start(self) -> int: ...

    @property
    def end(self) -> int: ...

    @property
    def future(self) -> Future[Utterance | None]: ...


class Listens(Protocol):
    """One stretch of sound; see ``recorder.voice.listening``."""

    @property
    def speaking(self) -> bool: ...

    def feed(self, pcm: bytes) -> Sequence[Coming]: ...

    def finish(self) -> Sequence[Coming]: ...

    def stop(self) -> None: ...


class Hears(Protocol):
    """What the sessions of a home hear with; tests have one that follows a script."""

    def listening(
        self, rate_hz: int, prompt: Callable[[], str], early: Callable[[str], None], at: int
    ) -> Listens:
        """For a stretch that is fed from its sample ``at`` on."""

    def model(self) -> str:
        """Name of the model, as it stands in transcripts. Raises EngineMissing, ModelDamaged."""

    def software(self) -> tuple[Software, ...]:
        """What a recording is heard with. Raises EngineMissing, ModelDamaged."""

    def close(self) -> None: ...


class Ears:
    """The real ones."""

    def __init__(self, settings: SpeechSettings) -> None:
        self._settings = settings
        self._ear = Ear(settings)
        self._model = ""
        self._software: tuple[Software, ...] = ()

    def listening(
        self, rate_hz: int, prompt: Callable[[], str], early: Callable[[str], None], at: int
    ) -> Listens:
        return Listening(rate_hz, self._ear, prompt, early, at)

    def model(self) -> str:
        self._model = self._model or self._ear.model
        return self._model

    def software(self) -> tuple[Software, ...]:
        self._software = self._software or evidence.hearing(self._settings)
        return self._software

    def close(self) -> None:
        self._ear.close()
