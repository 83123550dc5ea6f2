"""What is told of refusals: one line a minute of each kind, however many there are."""

from __future__ import annotations

import time
from collections.abc import Callable

QUIET_S = 60.0


class Refusals:
    def __init__(
        self, tell: Callable[[str], None], now_s: Callable[[], float] = time.monotonic
    ) -> None:
        self._tell, self._now_s = tell, now_s
        self._told_s: dict[str, float] = {}  # as many as there are kinds
        self._more: dict[str, int] = {}

    def of(self, what: str) -> None:
        now_s = self._now_s()
        if now_s - self._told_s.get(what, -QUIET_S) < QUIET_S:
            self._more[what] = self._more.get(what, 0) + 1
            return
        more = self._more.pop(what, 0)
        self._told_s[what] = now_s
        self._tell(f"refused {what}" + (f" (and {more} more like it before)" if more else ""))
