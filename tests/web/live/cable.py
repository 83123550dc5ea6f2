"""A cable between browser and server that a test can cut: nothing goes through while it is, and
nothing is told of it either, as with a phone that has left the range of its network.
"""

from __future__ import annotations

import contextlib
import socket
import threading

_PIECE = 65536


class Cable:
    """port: for browsers. to: of the server, which may change."""

    def __init__(self) -> None:
        self.to = 0
        self._whole = threading.Event()
        self._whole.set()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        self._whole.clear()

    def mend(self) -> None:
        """What was under way arrives now, behind time."""
        self._whole.set()

    def end(self) -> None:
        self._listener.close()
        self._whole.set()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):  # it ends
            while True:
                near, _ = self._listener.accept()
                threading.Thread(target=self._join, args=(near,), daemon=True).start()

    def _join(self, near: socket.socket) -> None:
        self._whole.wait()
        try:
            far = socket.create_connection(("127.0.0.1", self.to))
        except OSError:
            near.close()
            return
        threading.Thread(target=self._carry, args=(near, far), daemon=True).start()
        self._carry(far, near)

    def _carry(self, one: socket.socket, other: socket.socket) -> None:
        try:
            while piece := one.recv(_PIECE):
                self._whole.wait()
                other.sendall(piece)
        except OSError:
            pass
        self._whole.wait()
        for end in (one, other):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
