"""Secrets of devices and invitations, and the seal that a device's own pages put on what they send.

Each is 160 random bits; a guess is hopeless with 128 already (NIST SP 800-63B asks for 64 of a
secret that a session is kept by). Base32 because a person may have to type one.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets

BYTES = 20
_SEAL = b"seamnote seal 1"


def new() -> str:
    """32 characters of a-z and 2-7."""
    return base64.b32encode(secrets.token_bytes(BYTES)).decode().lower()


def tidy(typed: str) -> str:
    """A secret as a person may have typed it: spaces, dashes and capitals do not count."""
    return "".join(typed.split()).replace("-", "").lower()


def digest(secret: str) -> str:
    """SHA-256 in hex, which alone is kept."""
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def seal(secret: str) -> str:
    """What the pages of the device with this secret send along with each change."""
    return hmac.new(secret.encode(), _SEAL, hashlib.sha256).hexdigest()


def same(one: str, other: str) -> bool:
    """Compared in a time that tells nothing of where they differ."""
    return hmac.compare_digest(one.encode("utf-8", "replace"), other.encode("utf-8", "replace"))
