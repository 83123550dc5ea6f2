"""How much a request may hold and how long it may take, by its address."""

from __future__ import annotations

import re

USUAL = 64 * 1024
_KB, _MB = 1024, 1024 * 1024
# Address, bytes. A photo of 64 megapixels as JPEG has 20 to 40 MB.
_LARGER = (
    (re.compile(r"/live/[^/]+/sound"), 4 * _MB),
    (re.compile(r"/live/[^/]+/preview"), 2 * _MB),
    (re.compile(r"/live/[^/]+/photo"), 48 * _MB),
    (re.compile(r"/jobs/[^/]+/sign/(technician|customer)"), 10 * _MB),
    (re.compile(r"/inventory/take"), 1 * _MB + USUAL),
)
LARGEST_MESSAGE = 256 * _KB  # of a socket; the largest chunk of sound has 192 kB
PAUSE_S = 20.0  # between two pieces of a body
WHOLE_S = 300.0  # for all of it


def largest(path: str) -> int:
    """Bytes that a request to this address may hold."""
    return next((most for form, most in _LARGER if form.fullmatch(path)), USUAL)
