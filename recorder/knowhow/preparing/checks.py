"""What of the firm's presses and templates is due for a check, and the check list of a job."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from recorder.knowhow.preparing.proposal import Check
from recorder.model.inventory import Checked, Inventory
from recorder.model.plural import counted

# From so many days before the day on somebody is told. Common practice, no source.
SOON_DAYS = 14


class CheckStanding(StrEnum):
    """never: an interval is told and no check was noted. due: on the day, or within
    ``SOON_DAYS`` before it.
    """

    NEVER = "never"
    OVERDUE = "overdue"
    DUE = "due"
    IN_TIME = "in_time"


def checks(inventory: Inventory, today: date) -> tuple[Check, ...]:
    """Of everything that has an interval, the most urgent first: what was never checked, then by
    the day.
    """
    found = [
        check
        for kind, owned in (("press", inventory.presses), ("template", inventory.templates))
        for each in owned
        if (check := check_of(kind, each, today))
    ]
    return tuple(sorted(found, key=_urgency))


def check_of(kind: str, owned: Checked, today: date) -> Check | None:
    """None of something without an interval."""
    if owned.check_days is None:
        return None
    overdue = None if owned.due is None else (today - owned.due).days
    return Check(kind=kind, name=owned.name, due=owned.due, overdue_days=overdue)


def standing(check: Check) -> CheckStanding:
    if check.overdue_days is None:
        return CheckStanding.NEVER
    if check.overdue_days > 0:
        return CheckStanding.OVERDUE
    return CheckStanding.DUE if check.overdue_days >= -SOON_DAYS else CheckStanding.IN_TIME


def late(check: Check | None) -> bool:
    """Whether the thing should not be used before somebody has looked at it."""
    return check is not None and standing(check) in (CheckStanding.NEVER, CheckStanding.OVERDUE)


def to_tell(found: tuple[Check, ...]) -> tuple[Check, ...]:
    """Those that somebody should hear of: never checked, overdue, due soon."""
    return tuple(check for check in found if standing(check) is not CheckStanding.IN_TIME)


def said(check: Check) -> str:
    """In words, without the name: 'overdue for its check since 2026-10-01, 56 days'."""
    if check.due is None or check.overdue_days is None:
        return "due for a check: none was noted yet"
    if check.overdue_days > 0:
        return f"overdue for its check since {check.due}, {counted(check.overdue_days, 'day')}"
    if check.overdue_days == 0:
        return "due for its check today"
    left = counted(-check.overdue_days, "day")
    soon = standing(check) is CheckStanding.DUE
    return f"{'due' if soon else 'next'} check on {check.due}, in {left}"


def _urgency(check: Check) -> tuple[bool, date, str, str]:
    return check.due is not None, check.due or date.min, check.kind, check.name.casefold()


@dataclass(frozen=True)
class Point:
    """One line of the check list. when: 'before', 'at the press' or 'after'."""

    when: str
    text: str


# Common practice, no source: what a technician goes through, in this order. It instructs nobody;
# ``DEFERS`` stands above it wherever it is printed.
DEFERS = (
    "The plant's rules, local codes, the belt maker's data and licensed practice come first; "
    "this list replaces none of them."
)
CHECK_LIST = (
    Point("before", "Work permit and the plant's rules asked for"),
    Point("before", "Conveyor isolated and locked out, stored energy released, start tried"),
    Point("before", "Belt secured against running back"),
    Point("before", "Supply of the press fits the place: voltage, phases, fuse, residual current"),
    Point("before", "Press, hoses, cables and template looked over; their checks not overdue"),
    Point("before", "Belt is the one on the card: material, width, thickness, guide profile"),
    Point("before", "Length measured at the machine, take-up at its short end"),
    Point("before", "Tension marks drawn on the slack belt"),
    Point("at the press", "Ends cut square, punched, clean and dry; right side up"),
    Point("at the press", "Belt threaded the right way through the machine before joining"),
    Point("at the press", "Settings held against the recipe and the belt maker's data"),
    Point("at the press", "Hot platens and crushing: hands out, gloves on, others kept away"),
    Point("at the press", "Place aired; fumes of overheated belt are not breathed"),
    Point("at the press", "Belt stays clamped until it is cold enough to open"),
    Point("after", "Splice looked at and measured, photo taken"),
    Point("after", "Marks measured under tension"),
    Point("after", "Tools counted, guards back, lock taken off by whoever set it"),
    Point("after", "Test run seen, tracking watched"),
)
