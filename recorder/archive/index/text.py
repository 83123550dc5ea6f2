"""What is asked of a full-text index."""

from __future__ import annotations

from typing import NamedTuple


class Phrase(NamedTuple):
    """Words that stand one after another.

    text: as a person writes them; the index takes them apart as it did its own text. prefix:
    whether the last of them may be the beginning of a longer one.
    """

    text: str
    prefix: bool = False


# Every group by at least one of its phrases. No group: no condition. An empty group: never.
Query = tuple[tuple[Phrase, ...], ...]
