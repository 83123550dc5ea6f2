"""Connections with limits of their own: nobody holds one open by sending the head of a request byte
by byte, and no single address takes them all.
"""

from __future__ import annotations

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 10.0  # from the first byte, or from the connection, to the end of a request's head
MOST_FROM_ONE = 48  # a browser opens six, and its sockets
MOST = 200


class Connection(H11Protocol):
    _patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        here = _address(self)
        if sum(_address(each) == here for each in self.connections) > MOST_FROM_ONE:
            transport.abort()
            return
        self._watch()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        self._unwatch()
        super().connection_lost(exc)

    def _watch(self) -> None:
        """While the head of a request is not complete, its time runs."""
        if self.conn.their_state is not h11.IDLE or self.transport.is_closing():
            self._unwatch()
        elif self._patience is None:
            self._patience = self.loop.call_later(HEAD_S, self.transport.abort)

    def _unwatch(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None


def _address(connection: object) -> str:
    """Of the other side; sockets that began as requests have one too."""
    client: tuple[str, int] | None = getattr(connection, "client", None)
    return client[0] if client else ""
