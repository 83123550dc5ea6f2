"""The reference card: which one, to a file, and the true scale of its print."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home
from recorder.errors import BadValue
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading
from recorder.photo.card.card import CARD_SIZES, DEFAULT_SIZE, CardLayout, card_pdf, card_png
from recorder.photo.card.layout import for_belt
from recorder.settings import CARD_FILE, MeasuredCard, measured_card

_USUAL = 0.02  # a printer at 100 % keeps lengths to 1 or 2 %, common practice, no source
_APART = 0.01  # between the two directions


def layout(size: str | None, belt: str | None = None) -> CardLayout:
    """The layout of a size by its name, or the one for a belt width such as '60 mm'.

    Raises BadValue for an unknown size and for a belt that no card serves.
    """
    if belt:
        width_mm = float(typed_reading("belt_width", belt, Typed()).value)
        for_it = CARD_SIZES.get((size or "").upper()) or for_belt(width_mm)
        if for_it is None or not for_it.serves(width_mm):
            widths = ", ".join(f"{card.size} {_span(card)}" for card in CARD_SIZES.values())
            whose = f"the belt of card {size.upper()}" if for_it and size else "the belt of a card"
            raise BadValue(value=belt, field=whose, hint=f"the cards serve {widths}")
        return for_it
    found = CARD_SIZES.get((size or DEFAULT_SIZE).upper())
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
    """Keep the caliper reading of the two bars, 'X,Y' in mm, as the card's true print scale.

    What was kept of cards of other sizes stays.
    """
    across, down = card.bars_mm
    hint = (
        f"the bars of card {card.size} are {across:g} mm across and {down:g} mm down; write what "
        f"you read on yours, in that order, like {across * 1.0012:.2f},{down * 0.999:.2f}"
    )
    before = measured_card(home.root / CARD_FILE)
    others = {**before.others, before.size: before.print_scale} if before else {}
    others.pop(card.size, None)
    try:
        x, y = (float(part) / nominal for part, nominal in zip(
            text.split(","), card.bars_mm, strict=True))  # fmt: skip
        measured = MeasuredCard(
            print_scale=(round(x, 6), round(y, 6)),
            size=card.size,
            measured_at=datetime.now().astimezone().replace(microsecond=0),
            others=others,
        )
    except ValueError as error:
        raise BadValue(value=text, field="a caliper reading", hint=hint) from error
    scale_x, scale_y = measured.print_scale
    content = (
        "# By 'seamnote card --measured'.\n"
        f"print_scale = [{scale_x}, {scale_y}]\n"
        f'size = "{measured.size}"\n'
        f"measured_at = {measured.measured_at.isoformat()}\n"
        "\n[others]\n"
    ) + "".join(f"{json.dumps(size)} = [{x}, {y}]\n" for size, (x, y) in others.items())
    atomic.write(home.root / CARD_FILE, content.encode())
    return measured


def remark(measured: MeasuredCard) -> str:
    """What is unusual about a print, in words, or nothing. It is usable all the same."""
    x, y = measured.print_scale
    worst = max(x, y, key=lambda scale: abs(scale - 1))
    if abs(worst - 1) > _USUAL:
        off = f"{abs(worst - 1):.1%} too {'large' if worst > 1 else 'small'}"
        return f"the print is {off}, as when it is fitted to the page; read both bars once more"
    if abs(x - y) > _APART:
        return f"the two directions differ by {abs(x - y):.1%}; read both bars once more"
    return ""


def as_json(card: CardLayout) -> dict[str, Any]:
    """Where the splice belongs on the card, in mm from the upper left corner of its art."""
    return {
        "size": card.size,
        "size_mm": list(card.size_mm),
        "splice_centre_mm": list(card.splice_centre_mm),
        "belt_axis": card.belt_axis,
    }


def row(card: CardLayout) -> dict[str, Any]:
    """One card of the list of all: the same, with its belts and the lengths of its bars."""
    return {**as_json(card), "belts_mm": list(card.belts_mm), "bars_mm": list(card.bars_mm)}


def line(card: CardLayout) -> str:
    """One card of the list of all, for people."""
    width, height = card.size_mm
    across, down = card.bars_mm
    usual = "   (default)" if card.size == DEFAULT_SIZE else ""
    return (
        f"{card.size:3} {f'{width:g} x {height:g} mm':17} belts {_span(card):14} "
        f"bars {across:g} mm across, {down:g} mm down{usual}"
    )


def _span(card: CardLayout) -> str:
    return "{:g} to {:g} mm".format(*card.belts_mm)
