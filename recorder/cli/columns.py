"""Cells of a table below one another on a terminal."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence


def aligned(rows: Iterable[Sequence[str]]) -> list[str]:
    """A line for each row, every column as wide as its widest cell."""
    rows = list(rows)
    widths = [max(map(width, column)) for column in zip(*rows, strict=True)]
    return [line(row, widths) for row in rows]


def line(row: Sequence[str], widths: Sequence[int]) -> str:
    """A cell that is too wide is cut, with an ellipsis."""
    cells = [_padded(cell, most) for cell, most in zip(row, widths, strict=True)]
    return "  ".join(cells).rstrip()


def width(text: str) -> int:
    """Columns of a terminal; a wide character takes two, an accent of its own none."""
    return sum(
        0 if unicodedata.combining(c) else 1 + (unicodedata.east_asian_width(c) in "WF")
        for c in text
    )


def _padded(text: str, most: int) -> str:
    while width(text) > most:
        text = f"{text.removesuffix('…')[:-1]}…"
    return text + " " * (most - width(text))
