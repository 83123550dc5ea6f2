"""Headers of every answer, also of failures and files: what a browser may do with it.

No Strict-Transport-Security: it counts for all ports of a name, and the guide that tells a phone
how to trust this machine is plain http on another port. All else on a network is https alone.
Referrer-Policy is same-origin: with no-referrer, browsers send 'Origin: null' with forms.
"""

from __future__ import annotations

from collections.abc import Iterable

_CONTENT = (
    "default-src 'none'; object-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self' blob: data:; media-src 'self' blob:; connect-src 'self'{socket}; "
    "worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
_FEATURES = (
    "accelerometer", "browsing-topics", "display-capture", "geolocation", "gyroscope",
    "hid", "magnetometer", "midi", "payment", "serial", "usb", "xr-spatial-tracking",
)  # fmt: skip
_OWN_FEATURES = ("autoplay", "camera", "fullscreen", "microphone", "screen-wake-lock")
_PERMISSIONS = ", ".join(
    [f"{name}=(self)" for name in _OWN_FEATURES] + [f"{name}=()" for name in _FEATURES]
)
# Files of the program: a browser may keep them, and asks each time whether they have changed.
KEPT = ("/static/", "/manifest.webmanifest", "/service-worker.js")
_OURS = frozenset({b"server", b"cache-control", b"content-security-policy"})

Pairs = list[tuple[bytes, bytes]]


def secured(headers: Iterable[tuple[bytes, bytes]], path: str, place: str | None) -> Pairs:
    """An answer's headers with those that every answer bears.

    place: our origin, for older browsers, which do not count a socket to it as 'self'. An address
    of IPv6 cannot stand there (CSP 3, 2.3.1: host-source).
    """
    socket = f" {place.replace('http', 'ws', 1)}" if place and "[" not in place else ""
    kept = path.startswith(KEPT)
    own = {
        "content-security-policy": _CONTENT.format(socket=socket),
        "x-content-type-options": "nosniff",
        "referrer-policy": "same-origin",
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-resource-policy": "same-origin",
        "permissions-policy": _PERMISSIONS,
        "x-frame-options": "DENY",
        "cache-control": "no-cache" if kept else "no-store",
    }
    theirs = [(name, value) for name, value in headers if name.lower() not in _OURS]
    names = {name.lower() for name, _ in theirs}
    return theirs + [
        (name.encode(), value.encode()) for name, value in own.items() if name.encode() not in names
    ]
