"""The reference card to a file."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from recorder.archive import atomic
from recorder.archive.home import Home
from recorder.errors import BadValue
from recorder.photo.card import CARD_SIZES, DEFAULT_SIZE, CardLayout, card_pdf, card_png
from recorder.settings import CARD_FILE, MeasuredCard


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


def keep_measured(home: Home, card: CardLayout, text: str) -> MeasuredCard:
    """Keep the caliper reading of the two bars, 'X,Y' in mm, as the card's true print scale."""
    hint = "write the lengths of both bars, across and down, in mm, like 100.12,99.90"
    try:
        x, y = (float(part) / nominal for part, nominal in zip(
            text.split(","), card.bars_mm, strict=True))  # fmt: skip
        measured = MeasuredCard(
            print_scale=(round(x, 6), round(y, 6)),
            size=card.size,
            measured_at=datetime.now().astimezone().replace(microsecond=0),
        )
    except ValueError as error:
        raise BadValue(value=text, field="a caliper reading", hint=hint) from error
    scale_x, scale_y = measured.print_scale
    content = (
        "# By 'seamnote card --measured'.\n"
        f"print_scale = [{scale_x}, {scale_y}]\n"
        f'size = "{measured.size}"\n'
        f"measured_at = {measured.measured_at.isoformat()}\n"
    )
    atomic.write(home.root / CARD_FILE, content.encode())
    return measured


def as_json(card: CardLayout) -> dict[str, Any]:
    """Where the splice belongs on the card, in mm from the upper left corner of its art."""
    return {
        "size": card.size,
        "size_mm": list(card.size_mm),
        "splice_centre_mm": list(card.splice_centre_mm),
        "belt_axis": card.belt_axis,
    }
