"""What the session wants spoken, its sound, and the gate: while it speaks it does not listen.

::

    say ─► Speak ─► the page asks for the sound ─► speaking ─► … ─► spoken
                                                      └─ muted from here ─┘ and a tail

The gate is shut for no longer than the length of the speech and a second, by the samples of the
page's own microphone, whatever the page says of the end, and if it says nothing.
"""

from __future__ import annotations

import io
import itertools
import secrets
import threading
import time
import wave
from collections import OrderedDict

from recorder.errors import EngineMissing
from recorder.flows.live.memory import Keeper
from recorder.settings import Settings
from recorder.voice import speak

TAIL_S = 0.3
_OVER_S = 1.0
_MOST_KEPT = 64
# Between wanting something spoken and the page that begins: it has to fetch the sound.
_SOON_S = 3.0


class Voice:
    """Thread-safe."""

    def __init__(self, settings: Settings, keeper: Keeper) -> None:
        self._speaking = settings.speaking
        self._language = settings.speech.language
        self._keeper = keeper
        self._mark = secrets.token_hex(4)  # a page may still hold the sounds of the last run
        self._numbers = itertools.count(1)
        self._texts: OrderedDict[str, str] = OrderedDict()
        self._began: dict[str, tuple[str, int, int]] = {}  # name, its samples: from, at most to
        self._until = 0.0  # by the monotonic clock
        self._lock = threading.Lock()
        self.trouble = ""
        self.can_speak = self._has_voice()

    def want(self, text: str) -> str:
        """The name by which a page gets the sound of a text."""
        with self._lock:
            name = f"{self._mark}{next(self._numbers)}"
            self._texts[name] = text
            while len(self._texts) > _MOST_KEPT:
                self._texts.popitem(last=False)
            self._until = max(self._until, time.monotonic() + _SOON_S)
            return name

    def sound(self, name: str) -> bytes:
        """WAV. Raises KeyError, EngineMissing."""
        return speak.speech(self._texts[name], self._speaking, self._language)

    @property
    def on(self) -> bool:
        """Whether it speaks, or is about to."""
        return time.monotonic() < self._until

    def speaking(self, name: str, stretch: str, sample: int, rate_hz: int) -> None:
        """A page begins. Raises KeyError, OutputUnwritable."""
        length_s = _seconds(self.sound(name)) + _OVER_S
        end = sample + int(length_s * rate_hz)
        with self._lock:
            self._began[stretch] = (name, sample, end)
            self._until = time.monotonic() + length_s
        self._keeper.mute(stretch, sample, end)

    def spoken(self, name: str, stretch: str, sample: int, rate_hz: int) -> None:
        """It has ended, or was cut off. Raises OutputUnwritable."""
        with self._lock:
            began, start, most = self._began.get(stretch, ("", 0, 0))
            if began != name:  # what never began, or was followed by another
                return
            del self._began[stretch]
            self._until = time.monotonic() + TAIL_S
        self._keeper.mute(stretch, start, min(sample, most) + int(TAIL_S * rate_hz))

    def hush(self) -> None:
        with self._lock:
            self._until = min(self._until, time.monotonic() + TAIL_S)

    def _has_voice(self) -> bool:
        if self._speaking.engine == "none":
            return False
        try:
            speak.describe(self._speaking)
        except EngineMissing as error:
            self.trouble = str(error)
            return False
        return True


def _seconds(wav: bytes) -> float:
    if not wav:
        return 0.0
    with wave.open(io.BytesIO(wav)) as sound:
        return float(sound.getnframes() / sound.getframerate())
