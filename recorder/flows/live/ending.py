"""When a session ends: a moment after the person asked, no sound is taken any more; once all of it
was heard and all photos were measured, the finish runs, again and again until it is through.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable, Iterator

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.sounds import Sounds
from recorder.errors import SeamnoteError, SessionOver
from recorder.flows.live import finishing
from recorder.flows.live.hearing import Hearing
from recorder.flows.live.memory import Keeper
from recorder.flows.live.photos import Photos
from recorder.flows.live.turns import Turns
from recorder.flows.live.unforeseen import note
from recorder.report.identity.identity import Identity
from recorder.settings import Settings

# Of what a page has still under way when a person asks to finish.
LAST_S = 1.0
_AGAIN_S = 5.0  # after a finish that failed


class Ending:
    """Asked by several threads; it runs in that of the hearing.

    finished: the job is complete, and its pages are written as far as they can be. stage: of the
    finish, for people. trouble: why it failed, or what is missing of its pages.
    """

    def __init__(
        self,
        home: Home,
        folder: JobFolder,
        sounds: Sounds,
        keeper: Keeper,
        turns: Turns,
        settings: Settings,
        key: Identity | None,
        changed: Callable[[], None],
    ) -> None:
        self._home, self._folder, self._sounds, self._keeper = home, folder, sounds, keeper
        self._turns, self._settings, self._key, self._changed = turns, settings, key, changed
        self._taking = threading.Lock()
        self._sealed = self.asked  # another process had got so far
        self._at = time.monotonic()
        self.finished = False
        self.trouble = ""
        self._stage = ""

    @property
    def asked(self) -> bool:
        """Whether a person asked to finish, or what follows was cut off."""
        return self._keeper.point.finishing or self._turns.job.complete

    @property
    def text(self) -> str:
        """What the finish is doing."""
        return self._stage

    def soon(self) -> None:
        """The person has asked just now."""
        self._at = time.monotonic() + LAST_S

    @contextlib.contextmanager
    def taking(self) -> Iterator[None]:
        """Inside, something is kept that the finish must not miss. Raises SessionOver."""
        with self._taking:
            self.need_open()
            yield

    def need_open(self) -> None:
        """Raises SessionOver."""
        if self._sealed:
            raise SessionOver(job=self._folder.id)

    def step(self, hearing: Hearing, photos: Photos) -> bool:
        """Go on as far as can be; whether this was the last step."""
        if time.monotonic() < self._at:
            return False
        with self._taking:
            self._sealed = True
        hearing.over()
        if photos.measuring or not hearing.done:
            return False
        try:
            self.trouble = finishing.finish(
                self._home, self._folder, self._sounds, self._turns, self._settings, self._key, self
            )
            self.finished = True
        except Exception as error:  # all that was kept stays; the next try goes on from there
            known = isinstance(error, SeamnoteError)
            self.trouble = str(error) if known else note("the job could not be ended", error)
            self._at = time.monotonic() + _AGAIN_S
        self._stage = ""
        self._changed()
        return self.finished

    def stage(self, text: str) -> None:
        """See ``recorder.flows.progress``."""
        self._stage = text
        self._changed()

    def share(self, done: float) -> None:
        """Its stages are short."""
