"""Everyone who watches a session: what is made for them, and when it is made again."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime
from typing import cast

import pytest

from recorder.flows.live.happening import Happening
from recorder.flows.live.session import LiveSession
from recorder.live.talk import Moment
from recorder.live.view import Sign, View
from recorder.web.live.hub import Hub
from tests.web.live.loop import run

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


class Session:
    """Speaks, and fails as often as it is told."""

    job_id = "2026-03-02-one"

    def __init__(self, fails: int = 0) -> None:
        self._fails = fails

    def listen(self, call: Callable[[Happening], None]) -> Callable[[], None]:
        return lambda: None

    def view(self) -> View:
        if self._fails:
            self._fails -= 1
            raise RuntimeError("broken")
        return View(
            job=self.job_id, title="A job", sign=Sign.SPEAKING, moment=Moment.BEFORE, now=NOW,
            began_at=NOW,
        )  # fmt: skip


def hub_of(session: Session) -> Hub:
    return Hub(cast(LiveSession, session))


def test_a_view_that_failed_is_made_again() -> None:
    async def watched() -> dict[str, str]:
        hub = hub_of(Session(fails=1))
        with pytest.raises(RuntimeError):
            await hub.parts()
        return dict(await hub.parts())

    assert "sign" in run(watched())


def test_while_it_speaks_it_is_looked_at_again_once_however_much_happens() -> None:
    async def watched() -> list[asyncio.TimerHandle]:
        hub = hub_of(Session())
        later, handles = hub._loop.call_later, list[asyncio.TimerHandle]()

        def noted(delay_s: float, call: Callable[[], object]) -> asyncio.TimerHandle:
            handles.append(later(60 + delay_s, call))
            return handles[-1]

        hub._loop.call_later = noted  # type: ignore[method-assign, assignment]
        for _ in range(5):
            hub.changed()
            await hub.parts()
        return handles

    handles = run(watched())
    assert [handle.cancelled() for handle in handles] == 4 * [True] + [False]
