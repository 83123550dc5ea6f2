"""The server on the private networks of this machine: pages by https, and the guide to trust beside
it. A laptop changes networks; its addresses are looked at every few seconds, and followed.
"""

from __future__ import annotations

import asyncio
import socket
import ssl
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from starlette.types import ASGIApp

from recorder.errors import NoNetwork, PortTaken, SeamnoteError
from recorder.web import listening
from recorder.web.access import networks
from recorder.web.access.access import Access, Guide
from recorder.web.access.authority import open_or_make, server_certificate
from recorder.web.access.guide import guide
from recorder.web.access.places import origin
from recorder.web.running import Server, configured

LOOK_S = 10.0


def tls_context() -> ssl.SSLContext:
    """TLS 1.2 and newer, with forward secrecy and authenticated encryption alone."""
    made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    made.minimum_version = ssl.TLSVersion.TLSv1_2
    made.set_ciphers("ECDHE+AESGCM:ECDHE+CHACHA20")
    made.set_alpn_protocols(["http/1.1"])
    return made


@dataclass(frozen=True)
class _Served:
    """One address: its two servers, and the tasks that run them."""

    servers: Sequence[Server]
    tasks: Sequence[asyncio.Task[None]]

    async def end(self) -> None:
        for server in self.servers:
            server.should_exit = True
        await asyncio.gather(*self.tasks)


class Lan:
    def __init__(self, home: Path, app: ASGIApp, access: Access) -> None:
        """Makes the authority at first use. Raises AuthorityDamaged, OutputUnwritable."""
        self._home, self._app, self._access = home, app, access
        self._authority = open_or_make(home)
        self._guide = guide(access, self._authority)
        self._tls = tls_context()
        self._served: dict[str, _Served] = {}

    def look(self, found: Callable[[], tuple[str, ...]] = networks.names) -> None:
        """Know the names that the machine has now, and have a certificate for them."""
        names = found()
        places = self._access.places
        self._tls.load_cert_chain(server_certificate(self._home, names))
        places.move(names)
        if names:
            address = f"{origin('http', names[0], places.guide_port)}/"
            self._access.guide = Guide(address, self._authority.fingerprint)

    def open(self) -> dict[str, list[socket.socket]]:
        """Sockets of page and guide by address. Raises NoNetwork, PortTaken."""
        self.look()
        addresses = networks.addresses()
        if not addresses:
            raise NoNetwork()
        return {each: self._sockets(each) for each in addresses}

    def begin(self, sockets: dict[str, list[socket.socket]]) -> None:
        """Serve from these sockets, in the running loop."""
        for address, (page, beside) in sockets.items():
            servers = (
                Server(configured(self._app, self._tls)),
                Server(configured(self._guide)),
            )
            tasks = (
                asyncio.create_task(servers[0].serve([page])),
                asyncio.create_task(servers[1].serve([beside])),
            )
            self._served[address] = _Served(servers, tasks)

    async def follow(self) -> None:
        """Until cancelled: leave addresses that are gone, serve from those that have come.

        What goes wrong with it stops no recording: the next look tries again.
        """
        while True:
            await asyncio.sleep(LOOK_S)
            try:
                now = await asyncio.to_thread(networks.addresses)
                if set(now) != set(self._served):
                    await self._move(now)
            except (SeamnoteError, OSError) as error:
                self._access.told.of(f"to move to another network: {error}")

    async def end(self) -> None:
        await asyncio.gather(*(each.end() for each in self._served.values()))

    async def _move(self, now: tuple[str, ...]) -> None:
        for address in set(self._served) - set(now):
            await self._served.pop(address).end()
        await asyncio.to_thread(self.look)
        new = [each for each in now if each not in self._served]
        self.begin({each: self._sockets(each) for each in new})
        here = ", ".join(self._access.places.lan) or "this machine alone"
        self._access.tell(f"the addresses have changed; reached at {here}")

    def _sockets(self, address: str) -> list[socket.socket]:
        places = self._access.places
        page = listening.on_address(address, places.port)
        try:
            return [page, listening.on_address(address, places.guide_port)]
        except PortTaken:
            page.close()
            raise
