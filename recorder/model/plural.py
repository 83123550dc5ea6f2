"""A number with what it counts."""

from __future__ import annotations


def counted(number: int, what: str) -> str:
    """'1 job', '2 jobs'."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
