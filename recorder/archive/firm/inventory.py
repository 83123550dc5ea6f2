"""The firm's presses and templates, as the firm's own file lists them.

::

    [[press]]
    name = "Press 2"
    platen_width = "650 mm"             across the belt
    platen_length = "160 mm"            along it
    top = "220 degC"                    highest platen temperature
    pressure = "3 bar"                  highest
    last_check = 2026-09-01
    check_days = 365                    from one check to the next
    note = "hose renewed in May"

    [[template]]
    name = "T30-10"
    splice_type = "finger"
    finger_length = "30 mm"
    finger_pitch = "10 mm"
    guide_profiles = ["flat"]           that it leaves room for; none for any
    width = "60 mm..600 mm"             of belts that it takes
    thickness = "0.8 mm..3 mm"
    last_check = 2026-06-15
    check_days = 180

A taken file is kept as it was written, a table as the TOML of it. The list before it stays beside
it. Checks that are noted later stand in a file of their own, ``checks``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.firm import shapes
from recorder.archive.firm.checks import with_noted
from recorder.archive.firm.entries import (
    Entry,
    Shape,
    each_once,
    made,
    read_list,
    understood,
)
from recorder.archive.firm.replacing import replace
from recorder.errors import InputRefused
from recorder.model.inventory import Inventory, Press, Template

_CHECKED: dict[str, Shape] = {
    "last_check": shapes.day,
    "check_days": shapes.days,
    "note": shapes.words,
}
_PRESS: dict[str, Shape] = {
    "name": shapes.words,
    "platen_width": shapes.in_unit("mm"),
    "platen_length": shapes.in_unit("mm"),
    "top": shapes.in_unit("degC"),
    "pressure": shapes.in_unit("bar"),
    **_CHECKED,
}
_TEMPLATE: dict[str, Shape] = {
    "name": shapes.words,
    "splice_type": shapes.choice("splice_type"),
    "finger_length": shapes.in_unit("mm"),
    "finger_pitch": shapes.in_unit("mm"),
    "guide_profiles": shapes.choices("guide_profile"),
    "width": shapes.span_in("mm"),
    "thickness": shapes.span_in("mm"),
    **_CHECKED,
}
KINDS = ("press", "template")


@dataclass(frozen=True)
class Taken:
    """What taking a list changed: the list before, None where it could not be read, and now."""

    before: Inventory | None
    now: Inventory


def inventory(home: Home) -> Inventory:
    """What the firm owns, with the checks noted since; empty when no list was taken yet.

    Raises BadFirmFile that names the entry, and ChecksDamaged.
    """
    if not home.inventory.exists():
        return Inventory()
    listed = read_list(home.inventory, KINDS)
    return with_noted(home, understood_inventory(listed.entries))


def take(home: Home, path: Path, today: date) -> Taken:
    """Take a list in place of the one that is there: all of it or nothing.

    Raises FileMissing, InputRefused, BadFirmFile, ChecksDamaged, OutputUnwritable, Busy.
    """
    listed = read_list(path, KINDS)
    now = with_noted(home, understood_inventory(listed.entries, today))
    with lock.held(home.inventory):
        before = _readable(home)
        replace(home.inventory, listed.toml)
    return Taken(before, now)


def _readable(home: Home) -> Inventory | None:
    """The list that is there, None where it was damaged, which a new one mends."""
    try:
        return inventory(home)
    except InputRefused:
        return None


def understood_inventory(entries: Iterable[Entry], today: date | None = None) -> Inventory:
    """The list that the entries are. today: no check may lie behind it. Raises BadFirmFile."""
    entries = tuple(entries)
    presses = [(entry, _press(entry, today)) for entry in entries if entry.kind == "press"]
    templates = [(entry, _template(entry, today)) for entry in entries if entry.kind == "template"]
    each_once(((entry, (press.name,)) for entry, press in presses), "the name")
    each_once(((entry, (template.name,)) for entry, template in templates), "the name")
    return Inventory(
        presses=tuple(press for _, press in presses),
        templates=tuple(template for _, template in templates),
    )


def _press(entry: Entry, today: date | None) -> Press:
    press = made(entry, Press, understood(entry, _PRESS))
    _past(entry, press.last_check, today)
    return press


def _template(entry: Entry, today: date | None) -> Template:
    template = made(entry, Template, understood(entry, _TEMPLATE))
    _past(entry, template.last_check, today)
    return template


def _past(entry: Entry, day: date | None, today: date | None) -> None:
    if day is not None and today is not None and day > today:
        raise entry.refused(f"last_check: {day} is still to come")
