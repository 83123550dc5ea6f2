"""The sockets that the server listens on."""

from __future__ import annotations

import errno
import socket
import sys
import weakref
from typing import Any

from recorder.archive.disk.home import cause
from recorder.errors import PortTaken

_NO_SUCH_ADDRESS = (errno.EADDRNOTAVAIL, errno.EAFNOSUPPORT)
_BACKLOG = 128
MOST_FILES = 16_384
# Connections that are open at once, also those that have not yet said a word: one that could begin
# TLS costs 300 kB. A browser opens six, and its sockets.
MOST_FROM_ONE = 64
MOST_OPEN = 600


class Door(socket.socket):
    """Listens, and lets in so many at once from one address, and in all. What is beyond that is
    closed before anything is made of it. (The loop of Windows accepts without asking here.)
    """

    def __init__(self, family: int, kind: int) -> None:
        super().__init__(family, kind)
        self._inside: weakref.WeakKeyDictionary[socket.socket, str] = weakref.WeakKeyDictionary()

    def accept(self) -> tuple[socket.socket, Any]:
        """Raises ConnectionAbortedError for one too many, which the loop passes over."""
        connection, address = super().accept()
        here = [came for each, came in self._inside.items() if each.fileno() >= 0]
        if here.count(address[0]) >= MOST_FROM_ONE or len(here) >= MOST_OPEN:
            connection.close()
            raise ConnectionAbortedError(errno.ECONNABORTED, "too many connections are open")
        self._inside[connection] = address[0]
        return connection, address


def on_this_machine(port: int) -> list[socket.socket]:
    """Both loopback addresses, where there are two: 'localhost' may mean either, and if another
    program held one of them, it could pose as this server. port: 0 for a free one.

    Raises PortTaken.
    """
    first = on_address("127.0.0.1", port)
    try:
        return [first, on_address("::1", port_of(first))]
    except PortTaken as error:
        if getattr(error.__cause__, "errno", None) in _NO_SUCH_ADDRESS:
            return [first]
        first.close()
        raise


def on_address(address: str, port: int) -> socket.socket:
    """Raises PortTaken."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    try:
        made = Door(family, socket.SOCK_STREAM)
    except OSError as error:
        raise PortTaken(port=port, address=address, detail=cause(error)) from error
    try:
        if sys.platform == "win32":
            made.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        else:  # a server that was killed a moment ago holds its port no longer
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if family == socket.AF_INET6:
            made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        made.bind((address, port))
        made.listen(_BACKLOG)
    except OSError as error:
        made.close()
        raise PortTaken(port=port, address=address, detail=cause(error)) from error
    return made


def allow_many() -> None:
    """Let the process have as many files open as the system lets it, within reason: strangers who
    open connections must not take from the recording the files that it writes.
    """
    try:
        import resource
    except ImportError:  # Windows has no such limit
        return
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = MOST_FILES if hard == resource.RLIM_INFINITY else min(hard, MOST_FILES)
    if soft < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))


def port_of(listening: socket.socket) -> int:
    port: int = listening.getsockname()[1]
    return port
