"""Serve until somebody says stop: this machine by http, and with ``lan`` its networks by https."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import os
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from types import FrameType

import uvicorn
from starlette.types import ASGIApp

from recorder.archive.disk.home import Home
from recorder.flows.live.sessions import Sessions
from recorder.report.identity.identity import Identity
from recorder.settings import Settings
from recorder.web import listening
from recorder.web.access.access import Access
from recorder.web.access.limits import LARGEST_MESSAGE
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.connections import MOST, Connection
from recorder.web.house import House

_GOODBYE_S = 3  # for answers that are on their way when the server ends
_LARGEST_HEAD = 32 * 1024
_PING_S = 10.0  # a link that is dead for twice as long is given up


class Server(uvicorn.Server):
    """One of several in one loop: the signals are for all of them together."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


def serve(
    home: Home,
    settings: Settings,
    key: Identity | None,
    port: int,
    tell: Callable[[str], None],
    ready: Callable[[Access], None],
) -> None:
    """Returns when the process is asked to end. ready: called once, when the page can be reached.

    Raises PortTaken, DevicesDamaged, and what the home can raise.
    """
    sockets = listening.on_this_machine(port)
    access = Access(home, Places(listening.port_of(sockets[0])), tell)
    access.devices()  # a damaged list is told now
    sessions = Sessions(home, settings, key)
    app = application(House(home, settings, key, sessions, access))
    try:
        asyncio.run(_serve(app, sockets, lambda: ready(access), tell))
    finally:
        sessions.close()


async def _serve(
    app: ASGIApp,
    sockets: list[socket.socket],
    ready: Callable[[], None],
    tell: Callable[[str], None],
) -> None:
    server = Server(_config(app))
    stop = asyncio.Event()
    with _told_to_stop(stop), _failures(tell):
        running = asyncio.create_task(server.serve(sockets))
        ready()
        await asyncio.wait(
            (running, asyncio.create_task(stop.wait())), return_when=asyncio.FIRST_COMPLETED
        )
        server.should_exit = True
        await running


def _config(app: ASGIApp) -> uvicorn.Config:
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
    )


@contextlib.contextmanager
def _told_to_stop(stop: asyncio.Event) -> Iterator[None]:
    """Ctrl-C, or the system that ends the process; the second Ctrl-C ends it the hard way."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    loop = asyncio.get_running_loop()

    def asked(number: int, frame: FrameType | None) -> None:
        signal.signal(number, before[signal.Signals(number)])
        loop.call_soon_threadsafe(stop.set)

    before = {number: signal.signal(number, asked) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextlib.contextmanager
def _failures(tell: Callable[[str], None]) -> Iterator[None]:
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
