"""The customers' conveyors, as the firm's own file lists them.

::

    [[conveyor]]
    customer = "Larkfield Bakery"
    site = "Larkfield, packing hall 2"
    name = "Oven outfeed 3"             customer, site and name together stand in it once
    belt_material = "TPU CV-120A"       the belt that lies on it, as on a job card
    belt_thickness = "2 mm"
    belt_width = "450 mm"
    guide_profile = "flat"
    splice_type = "finger"
    finger_length = "30 mm"
    finger_pitch = "10 mm"
    pulley_1 = "120 mm"                 outer diameters, and the distance of the axes with the
    pulley_2 = "80 mm"                  take-up where the belt is to be joined: all or none
    centres = "4250 mm"
    press = "Press 2"
    template = "T30-10"
    note = "narrow gangway"

A taken file is kept as it was written, a table as the TOML of it. The list before it stays beside
it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.firm import shapes
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
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.inventory import Conveyor
from recorder.model.length import Drive

_DRIVE = ("pulley_1", "pulley_2", "centres")
_CONVEYOR: dict[str, Shape] = {
    "customer": shapes.words,
    "site": shapes.words,
    "name": shapes.words,
    "belt_material": shapes.words,
    "belt_thickness": shapes.in_unit("mm"),
    "belt_width": shapes.in_unit("mm"),
    "guide_profile": shapes.choice("guide_profile"),
    "splice_type": shapes.choice("splice_type"),
    "finger_length": shapes.in_unit("mm"),
    "finger_pitch": shapes.in_unit("mm"),
    **{key: shapes.in_unit("mm") for key in _DRIVE},
    "press": shapes.words,
    "template": shapes.words,
    "note": shapes.words,
}
KINDS = ("conveyor",)

# What else has to be true of a drive; raises ValueError that says what is not.
Sane = Callable[[Drive], None]


@dataclass(frozen=True)
class Taken:
    """What taking a list changed: the list before, None where it could not be read, and now."""

    before: tuple[Conveyor, ...] | None
    now: tuple[Conveyor, ...]


def conveyors(home: Home) -> tuple[Conveyor, ...]:
    """In the order of the list; none when no list was taken yet. Raises BadFirmFile."""
    if not home.conveyors.exists():
        return ()
    return understood_conveyors(read_list(home.conveyors, KINDS).entries)


def take(home: Home, path: Path, sane: Sane) -> Taken:
    """Take a list in place of the one that is there: all of it or nothing.

    Raises FileMissing, InputRefused, BadFirmFile, OutputUnwritable, Busy.
    """
    listed = read_list(path, KINDS)
    now = understood_conveyors(listed.entries, sane)
    with lock.held(home.conveyors):
        before = _readable(home)
        replace(home.conveyors, listed.toml)
    return Taken(before, now)


def _readable(home: Home) -> tuple[Conveyor, ...] | None:
    """The list that is there, None where it was damaged, which a new one mends."""
    try:
        return conveyors(home)
    except InputRefused:
        return None


def understood_conveyors(
    entries: Iterable[Entry], sane: Sane | None = None
) -> tuple[Conveyor, ...]:
    """The list that the entries are. Raises BadFirmFile that names the entry."""
    found = [(entry, _conveyor(entry, sane)) for entry in entries]
    each_once(
        ((entry, (each.customer, each.site, each.name)) for entry, each in found),
        "customer, site and name",
    )
    return tuple(conveyor for _, conveyor in found)


def _conveyor(entry: Entry, sane: Sane | None) -> Conveyor:
    meant = understood(entry, _CONVEYOR)
    missing = next((key for key in ("customer", "name") if key not in meant), None)
    if missing:
        raise entry.refused(f"{missing} is missing")
    told = {key: meant.pop(key) for key in BELT_FIELDS if key in meant}
    drive = {key: meant.pop(key) for key in _DRIVE if key in meant}
    belt = made(entry, Belt, told)
    if drive:
        absent = [key for key in _DRIVE if key not in drive]
        if absent:
            raise entry.refused(
                f"{' and '.join(absent)} is missing, without which no drive is told"
            )
        drive["thickness"] = belt.belt_thickness or 0.0
        meant["drive"] = made(entry, Drive, drive)
        if sane:
            try:
                sane(made(entry, Drive, drive))
            except ValueError as error:
                raise entry.refused(str(error)) from error
    return made(entry, Conveyor, {**meant, "belt": belt})
