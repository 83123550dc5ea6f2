"""A report to what can be said of it."""

from __future__ import annotations

from pathlib import Path

from recorder.archive.home import Home
from recorder.report.identity import identity
from recorder.report.verifying.verify import Verification, verify


def check(home: Home, path: Path) -> tuple[Verification, tuple[str, ...]]:
    """Verify a report against the certificates that this home knows.

    Also the names of files among these that hold no certificate.
    """
    known = identity.known_certificates(home.identity)
    unreadable = tuple(bad.name for bad in identity.unreadable(home.identity))
    return verify(path, known), unreadable
