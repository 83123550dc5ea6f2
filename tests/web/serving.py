"""A real server around an application, in a thread of the test."""

from __future__ import annotations

import asyncio
import contextlib
import threading
from collections.abc import Iterator

from starlette.types import ASGIApp

from recorder.web import listening
from recorder.web.running import Server, configured


@contextlib.contextmanager
def served(app: ASGIApp, port: int = 0) -> Iterator[int]:
    """The port at which it listens on 127.0.0.1."""
    with listening.on_address("127.0.0.1", port) as sock:
        server = Server(configured(app))
        thread = threading.Thread(target=lambda: asyncio.run(server.serve([sock])), daemon=True)
        thread.start()
        try:
            yield listening.port_of(sock)
        finally:
            server.should_exit = True
            thread.join(20)
            assert not thread.is_alive()
