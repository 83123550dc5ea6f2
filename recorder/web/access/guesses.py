"""How often somebody may try a pairing code: a few times a minute from one address."""

from __future__ import annotations

import time
from collections import OrderedDict, deque
from collections.abc import Callable

MOST = 10
WITHIN_S = 60.0
_MOST_ADDRESSES = 256  # remembered; the one that was quiet longest goes first


class Guesses:
    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        self._now_s = now_s
        self._tries: OrderedDict[str, deque[float]] = OrderedDict()

    def allowed(self, address: str) -> bool:
        """Counts the try."""
        now_s = self._now_s()
        tries = self._tries.setdefault(address, deque(maxlen=MOST))
        self._tries.move_to_end(address)
        if len(self._tries) > _MOST_ADDRESSES:
            self._tries.popitem(last=False)
        if len(tries) == MOST and now_s - tries[0] < WITHIN_S:
            return False
        tries.append(now_s)
        return True
