"""One server of several in one loop, and how each is set up."""

from __future__ import annotations

import contextlib
import logging
import os
import ssl
from collections.abc import Callable, Iterator

import uvicorn
from starlette.types import ASGIApp

from recorder.web.access.limits import LARGEST_MESSAGE
from recorder.web.connections import MOST, Connection

_GOODBYE_S = 3  # for answers that are on their way when the server ends
_LARGEST_HEAD = 32 * 1024
_PING_S = 10.0  # a link that is dead for twice as long is given up


class Server(uvicorn.Server):
    """Ends by ``should_exit``: the signals are for all servers together."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def configured(app: ASGIApp, tls: ssl.SSLContext | None = None) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        http=Connection,
        ws="websockets-sansio",
        ws_max_size=LARGEST_MESSAGE,
        ws_ping_interval=_PING_S,
        ws_ping_timeout=_PING_S,
        ws_per_message_deflate=False,
        lifespan="off",
        log_config=None,
        access_log=False,
        proxy_headers=False,
        server_header=False,
        limit_concurrency=MOST,
        timeout_graceful_shutdown=_GOODBYE_S,
        h11_max_incomplete_event_size=_LARGEST_HEAD,
        ssl_context_factory=(lambda config, usual: tls) if tls else None,
    )


@contextlib.contextmanager
def failures_told(tell: Callable[[str], None]) -> Iterator[None]:
    """What nobody foresaw, in one line; all of it with SEAMNOTE_DEBUG."""
    logger = logging.getLogger("uvicorn.error")
    handler = _Lines(tell)
    logger.addHandler(handler)
    logger.propagate = False
    logger.setLevel(logging.ERROR)
    try:
        yield
    finally:
        logger.removeHandler(handler)


class _Lines(logging.Handler):
    def __init__(self, tell: Callable[[str], None]) -> None:
        super().__init__(logging.ERROR)
        self._tell = tell

    def emit(self, record: logging.LogRecord) -> None:
        error = record.exc_info[1] if record.exc_info else None
        text = f"{type(error).__name__}: {error}" if error else record.getMessage()
        self._tell(f"unforeseen: {' '.join(text.split())}; please report this")
        if error and os.environ.get("SEAMNOTE_DEBUG"):
            self._tell(self.format(record))
