"""Answers that read the whole archive: at once where it is small, else made aside and kept."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Generic, TypeVar

from recorder.archive.disk.home import Home
from recorder.errors import SeamnoteError
from recorder.flows.knowhow.trends import state_of

Answer = TypeVar("Answer")
LARGE_BYTES = 32 * 1024 * 1024  # an index of some 6,000 jobs, which are read in half a second
AGAIN_S = 600.0  # at the earliest, as it takes a core for seconds
_one_at_a_time = threading.Lock()


class Aside(Generic[Answer]):
    """Of one question. Thread-safe."""

    def __init__(self, make: Callable[[Home], Answer]) -> None:
        self._make = make
        self._lock = threading.Lock()
        self._kept: dict[Path, tuple[float, str, Answer]] = {}
        self._busy: set[Path] = set()

    def of(self, home: Home) -> Answer | None:
        """The answer; of a large archive the last one, while a thread makes it anew where jobs
        joined since, and None before the first. Raises as it is made, where that is at once.
        """
        if not large(home):
            return self._make(home)
        with self._lock:
            made_s, state, answer = self._kept.get(home.root, (-AGAIN_S, "", None))
            old = state != state_of(home) and time.monotonic() - made_s >= AGAIN_S
            if old and home.root not in self._busy:
                self._busy.add(home.root)
                threading.Thread(target=self._anew, args=(home,), daemon=True).start()
        return answer

    def _anew(self, home: Home) -> None:
        try:
            with _one_at_a_time:
                answer = self._make(home)
            with self._lock:
                self._kept[home.root] = (time.monotonic(), state_of(home), answer)
        except (SeamnoteError, OSError):
            pass  # the page that asks for more tells of it
        finally:
            with self._lock:
                self._busy.discard(home.root)


def large(home: Home) -> bool:
    return home.index.exists() and home.index.stat().st_size >= LARGE_BYTES
