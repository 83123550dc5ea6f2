"""The id of a job, which names its folder: when it was made, and of which files."""

from __future__ import annotations

import itertools
import secrets
from collections.abc import Iterator
from datetime import UTC, datetime

from recorder.archive.jobs import originals

LONGEST_ID = 80  # characters; ours have fewer


def ids(now: datetime, hashes: set[str]) -> Iterator[str]:
    """Names for a new job, the plain one first: ``20261125-204530-3f9a``, then ``…-3f9a-2``.

    hashes: SHA-256 of its originals. A job without any yet is told apart by chance, as two devices
    may begin one in the same second.
    """
    apart = mark(hashes) if hashes else secrets.token_hex(2)
    name = f"{now.astimezone(UTC):%Y%m%d-%H%M%S}-{apart}"
    yield name
    for number in itertools.count(2):
        yield f"{name}-{number}"


def mark(hashes: set[str]) -> str:
    """The part of the name that tells jobs of other files apart, mostly."""
    return originals.digest_over(hashes)[:4]


def mark_in(job_id: str) -> str:
    """That part of an id; empty where it has none."""
    return "".join(job_id.split("-")[2:3])
