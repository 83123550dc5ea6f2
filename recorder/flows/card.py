"""The reference card to a file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from recorder.archive import atomic
from recorder.errors import BadValue
from recorder.photo.card import CARD_SIZES, DEFAULT_SIZE, CardLayout, card_pdf, card_png


def layout(size: str | None) -> CardLayout:
    """The layout of a size by its name; BadValue for an unknown one."""
    found = CARD_SIZES.get(size or DEFAULT_SIZE)
    if found is None:
        raise BadValue(value=size, field="a card size", hint=f"use {', '.join(CARD_SIZES)}")
    return found


def write_png(card: CardLayout, path: Path, dpi: int) -> None:
    if not 50 <= dpi <= 2400:
        raise BadValue(value=dpi, field="a resolution", hint="use 50 to 2400 dots per inch")
    atomic.write(path, card_png(card, dpi))


def write_pdf(card: CardLayout, path: Path) -> None:
    atomic.write(path, card_pdf(card))


def as_json(card: CardLayout) -> dict[str, Any]:
    """Where the splice belongs on the card, in mm from the upper left corner of its art."""
    return {
        "size": card.size,
        "size_mm": list(card.size_mm),
        "splice_centre_mm": list(card.splice_centre_mm),
        "belt_axis": card.belt_axis,
    }
