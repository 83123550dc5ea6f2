"""The hub of each live session that a page watches. Known to the application by its state."""

from __future__ import annotations

import asyncio

from starlette.applications import Starlette

from recorder.flows.live.sessions import Sessions
from recorder.web.house import House
from recorder.web.live.hub import Hub
from recorder.web.pages.known import known_job


class Hubs:
    def __init__(self, house: House) -> None:
        self._house = house
        self._hubs: dict[str, Hub] = {}
        self._opening = asyncio.Lock()

    async def of(self, job_id: str) -> Hub:
        """Raises UnknownJob, Busy."""
        known_job(self._house.home, job_id)
        async with self._opening:
            sessions: Sessions = self._house.sessions
            session = await asyncio.to_thread(sessions.open, job_id)
            hub = self._hubs.get(job_id)
            if hub is None or hub.session is not session:
                if hub is not None:
                    hub.close()
                self._sweep()
                self._hubs[job_id] = hub = Hub(session, str(self._house.home.root))
            return hub

    def _sweep(self) -> None:
        """Forget those that nobody watches."""
        for job_id, hub in list(self._hubs.items()):
            if hub.unwatched:
                hub.close()
                del self._hubs[job_id]


def hubs_of(app: Starlette) -> Hubs:
    made: Hubs | None = getattr(app.state, "hubs", None)
    if made is None:
        app.state.hubs = made = Hubs(app.state.house)
    return made
