"""Where this server can be reached. Any other name is a stranger's, also when it leads here.

A page of another site can have its own name lead to this machine (DNS rebinding); its requests then
carry that name as Host, and are refused.
"""

from __future__ import annotations

from collections.abc import Iterable

from starlette.types import Scope

_USUAL_PORT = {"http": 80, "https": 443}
LOOPBACK = ("localhost", "127.0.0.1", "[::1]")


class Places:
    """The origins of this server, 'http://localhost:8750'. They change with the networks."""

    def __init__(self, port: int, lan: Iterable[str] = ()) -> None:
        """lan: names and addresses under which it is reached by https, an IPv6 in brackets."""
        self.port = port
        self.move(lan)

    def move(self, lan: Iterable[str]) -> None:
        """The machine has other addresses now."""
        self.lan = tuple(lan)
        self._guides = frozenset(origin("http", name.lower(), self.guide_port) for name in self.lan)
        self.origins = frozenset(
            [origin("http", name, self.port) for name in LOOPBACK]
            + [origin("https", name.lower(), self.port) for name in self.lan]
        )

    @property
    def guide_port(self) -> int:
        """Of the guide to trust, beside the port of the server."""
        return self.port + 1

    def guides(self, scope: Scope) -> bool:
        """Whether a request was sent to the guide by one of its names."""
        return _asked(scope) in self._guides

    def origin_of(self, scope: Scope) -> str | None:
        """The origin to which a request was sent, None for one that is not ours."""
        asked = _asked(scope)
        return asked if asked in self.origins else None


def _asked(scope: Scope) -> str:
    """The origin by which it was asked, '' when the request names none or several."""
    hosts = [value for name, value in scope["headers"] if name == b"host"]
    scheme = {"ws": "http", "wss": "https"}.get(scope["scheme"], scope["scheme"])
    return f"{scheme}://{hosts[0].decode('latin-1').lower()}" if len(hosts) == 1 else ""


def origin(scheme: str, name: str, port: int) -> str:
    """As a browser writes it: without the port where that is the usual one."""
    return f"{scheme}://{name}" if _USUAL_PORT[scheme] == port else f"{scheme}://{name}:{port}"
