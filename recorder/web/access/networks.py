"""The private networks that this machine is in, and the names by which it is found there."""

from __future__ import annotations

import ipaddress
import re
import socket

import psutil

# RFC 1918, RFC 3927 (link-local), RFC 4193: what no route leads to from outside. Link-local IPv6 is
# left out: an address of it means nothing without the name of an interface.
PRIVATE = tuple(
    ipaddress.ip_network(text)
    for text in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7")
)
# How interfaces of containers, virtual machines and tunnels are called: common practice, no source.
_INSIDE = ("docker", "br-", "veth", "virbr", "vmnet", "vboxnet", "tun", "tap", "wg", "zt", "utun")
# Reserved for documentation (RFC 5737): asking for the way to it sends nothing.
_ELSEWHERE = ("192.0.2.1", 9)


def addresses() -> tuple[str, ...]:
    """Private addresses of the interfaces that are up; first that of the usual way out, by which
    a phone in the same network most likely reaches it, last those of networks that only exist
    inside of this machine.
    """
    states = psutil.net_if_stats()
    found = {
        each.address: name.startswith(_INSIDE)
        for name, given in psutil.net_if_addrs().items()
        for each in given
        if each.family in (socket.AF_INET, socket.AF_INET6)
        and is_private(each.address)
        and name in states
        and states[name].isup
    }
    usual = _usual()
    return tuple(sorted(found, key=lambda each: (each != usual, found[each], ":" in each, each)))


def names() -> tuple[str, ...]:
    """As they stand in addresses of pages: IPv6 in brackets, and last the machine's own name."""
    found = [f"[{each}]" if ":" in each else each for each in addresses()]
    return (*found, host_name()) if found else ()


def host_name() -> str:
    """'van-laptop.local', by which multicast DNS knows it (RFC 6762)."""
    first = socket.gethostname().split(".")[0].lower()
    return f"{re.sub('[^a-z0-9-]', '', first).strip('-')[:63] or 'seamnote'}.local"


def is_private(address: str) -> bool:
    try:
        found = ipaddress.ip_address(address)
    except ValueError:  # with the name of an interface
        return False
    return any(found in network for network in PRIVATE if network.version == found.version)


def _usual() -> str:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(_ELSEWHERE)
            return str(asking.getsockname()[0])
        except OSError:  # no network at all
            return ""
