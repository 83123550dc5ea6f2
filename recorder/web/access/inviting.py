"""Addresses that pair one device, within five minutes. The code stands behind '#', which browsers
send to nobody: it is in no log and in no Referer.
"""

from __future__ import annotations

from recorder.errors import NoNetwork
from recorder.web.access.access import Access
from recorder.web.access.places import LOOPBACK, origin
from recorder.web.access.rules import PAIRING


def on_this_machine(access: Access) -> str:
    """Raises Busy, OutputUnwritable, DevicesDamaged."""
    return f"{origin('http', LOOPBACK[0], access.places.port)}{PAIRING}#{access.invite()}"


def on_the_network(access: Access) -> str:
    """The same for a phone. Raises NoNetwork, and what the other raises."""
    places = access.places
    if not places.lan:
        raise NoNetwork()
    return f"{origin('https', places.lan[0], places.port)}{PAIRING}#{access.invite()}"
