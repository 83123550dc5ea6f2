"""The live sessions of a home: begun, taken up after a restart, closed."""

from __future__ import annotations

from recorder.archive.disk.home import Home
from recorder.flows.live.session import LiveSession
from recorder.report.identity.identity import Identity
from recorder.settings import Settings


class Sessions:
    def __init__(self, home: Home, settings: Settings, key: Identity | None) -> None:
        self._home = home
        self._settings = settings
        self._key = key

    def begin(self) -> LiveSession:
        """A new job, kept at once. Raises HomeUnusable."""
        raise NotImplementedError

    def open(self, job_id: str) -> LiveSession:
        """A live job that is not finished, or was finished since this began. Raises UnknownJob,
        Busy while another process records it.
        """
        raise NotImplementedError

    def unfinished(self) -> tuple[str, ...]:
        """Ids of the live jobs that are not complete, oldest first."""
        raise NotImplementedError

    def close(self) -> None:
        """Stop all threads; what came is on the disk already."""
        raise NotImplementedError
