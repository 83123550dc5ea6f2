"""Serve until somebody says stop: this machine by http, and with ``lan`` its networks by https."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from types import FrameType

from starlette.types import ASGIApp

from recorder.archive.disk.home import Home
from recorder.flows.live.sessions import Sessions
from recorder.report.identity.identity import Identity
from recorder.settings import Settings
from recorder.web import listening
from recorder.web.access import uploads
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.house import House
from recorder.web.lan import Lan
from recorder.web.running import Server, configured, failures_told


def serve(
    home: Home,
    settings: Settings,
    key: Identity | None,
    port: int,
    lan: bool,
    tell: Callable[[str], None],
    ready: Callable[[Access], None],
) -> None:
    """Returns when the process is asked to end. ready: called once, when the page can be reached.

    Raises PortTaken, NoNetwork, DevicesDamaged, AuthorityDamaged, and what the home can raise.
    """
    sockets = listening.on_this_machine(port)
    listening.allow_many()
    access = Access(home, Places(listening.port_of(sockets[0])), tell)
    access.devices()  # a damaged list is told now
    uploads.sweep(home)
    sessions = Sessions(home, settings, key)
    try:
        app = application(House(home, settings, key, sessions, access))
        network = Lan(home.root, app, access) if lan else None
        asyncio.run(_serve(app, sockets, network, lambda: ready(access), tell))
    finally:
        sessions.close()


async def _serve(
    app: ASGIApp,
    sockets: list[socket.socket],
    network: Lan | None,
    ready: Callable[[], None],
    tell: Callable[[str], None],
) -> None:
    stop = asyncio.Event()
    with _told_to_stop(stop), failures_told(tell):
        if network:
            network.begin(network.open())
        server = Server(configured(app))
        running = [asyncio.create_task(server.serve(sockets))]
        following = [asyncio.create_task(network.follow())] if network else []
        await asyncio.to_thread(ready)
        stopped = asyncio.create_task(stop.wait())
        await asyncio.wait((*running, stopped), return_when=asyncio.FIRST_COMPLETED)
        for task in (*following, stopped):
            task.cancel()
        server.should_exit = True
        await asyncio.gather(*running, *([network.end()] if network else ()))


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
