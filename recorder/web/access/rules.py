"""Whether a request may pass, in order: the place, the path, where it comes from, who, the seal.

Everything here looks at the head of the request alone. Which jobs there are plays no part, so that
a stranger learns nothing from an answer, nor from the time that it takes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import Headers
from starlette.types import Scope

from recorder.web.access.places import Places

SAFE_METHODS = frozenset({"GET", "HEAD"})
METHODS = SAFE_METHODS | {"POST"}
PAIRING = "/pair"
# What anybody may load: nothing of it tells of a job, and browsers ask for some of it without a
# cookie.
OPEN = ("/static/", "/manifest.webmanifest", "/service-worker.js")
# Characters of a path; ours have less than half of them. A number of some thousand digits is more
# than Python reads.
LONGEST_PATH = 400
_ODD = re.compile(rb"%(?:2e|2f|5c|00|25)|\\|\x00|//", re.IGNORECASE)


@dataclass(frozen=True)
class Refusal:
    """status: of HTTP. problem, remedy: for a person. what: for the log, without names."""

    status: int
    problem: str
    remedy: str
    what: str


STRANGE_PLACE = Refusal(
    421, "this machine is not reached under that name", "use an address that Seamnote printed",
    "a request to a name that is not ours",
)  # fmt: skip
UNCLEAR = Refusal(
    400, "it is not clear where this request ends", "load the page again",
    "a request with two lengths",
)  # fmt: skip
NOT_HERE = Refusal(
    404, "there is nothing at this address", "go to the start page", "a request to an odd address"
)
NOT_TAKEN = Refusal(
    405, "this address does not take that", "go to the start page", "an unusual kind of request"
)
FOREIGN = Refusal(
    403, "this was sent by a page of another site", "open Seamnote by its own address",
    "a request that a page of another site sent",
)  # fmt: skip
UNPAIRED = Refusal(
    401, "this device is not paired with Seamnote",
    "on the machine that runs it, open 'Devices' or look at the terminal, and scan the code",
    "a request of an unpaired device",
)  # fmt: skip
UNSEALED = Refusal(
    403, "this did not come from a page of Seamnote that is up to date",
    "load the page again and repeat it", "a request without the seal of its device",
)  # fmt: skip
NOBODY_KNOWN = Refusal(
    503, "the list of paired devices cannot be read", "look at the terminal of Seamnote",
    "a request while the list of paired devices cannot be read",
)  # fmt: skip
TOO_LARGE = Refusal(
    413, "what was sent is too large", "send less, or a smaller file", "a request that is too large"
)
TOO_SLOW = Refusal(
    408, "what was sent came too slowly", "come nearer to the network and send it again",
    "a request that came too slowly",
)  # fmt: skip


def outside(scope: Scope, places: Places) -> Refusal | None:
    """What can be said before anybody asks who it is."""
    place = places.origin_of(scope)
    if place is None:
        return STRANGE_PLACE
    if {b"content-length", b"transfer-encoding"} <= {name for name, _ in scope["headers"]}:
        return UNCLEAR  # RFC 9112, 6.1: maybe another request hides in it
    if _ODD.search(scope.get("raw_path") or b"") or _odd(scope["path"]):
        return NOT_HERE
    if scope["type"] == "http" and scope["method"] not in METHODS:
        return NOT_TAKEN
    return FOREIGN if foreign(scope, place) else None


def foreign(scope: Scope, place: str) -> bool:
    """Whether a page of another site, or of another port of this machine, sent the request.

    SameSite does not tell ports apart, so that both headers are looked at.
    """
    headers = Headers(scope=scope)
    origins = headers.getlist("origin")
    changes = scope["type"] == "websocket" or scope["method"] not in SAFE_METHODS
    if origins != [place] and (origins or changes):
        return True
    site = headers.get("sec-fetch-site", "same-origin")
    if site == "same-origin" or (site == "none" and not changes):
        return False
    # A link somewhere may lead to us: that shows a page, and nobody else can read it.
    return changes or headers.get("sec-fetch-mode") != "navigate" or _framed(headers)


def for_anybody(scope: Scope) -> bool:
    """Whether what is asked for is open to unpaired devices."""
    path: str = scope["path"]
    if scope["type"] == "websocket":
        return False
    if path == PAIRING:
        return True
    return scope["method"] in SAFE_METHODS and path.startswith(OPEN)


def needs_seal(scope: Scope) -> bool:
    """Pairing has the secret of its invitation instead; who pairs has no seal yet."""
    return scope["method"] not in SAFE_METHODS and scope["path"] != PAIRING


def _framed(headers: Headers) -> bool:
    return headers.get("sec-fetch-dest", "document") != "document"


def _odd(path: str) -> bool:
    if len(path) > LONGEST_PATH or ".." in path.split("/"):
        return True
    return any(not char.isprintable() for char in path)


def state_of(scope: Scope) -> dict[str, Any]:
    """What the pages behind may read as ``request.state``."""
    state: dict[str, Any] = scope.setdefault("state", {})
    return state
