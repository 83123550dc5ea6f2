"""The firm's lists: taken in, looked into, and held against a belt.

::

    inventory.toml ─┬─► templates ─┐
    checks.jsonl ───┘              ├─► which template, why, and what is due for a check
    past jobs on such a belt ──────┘
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import UTC, date, datetime
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.finding.past import Past
from recorder.archive.finding.typos import near_names
from recorder.archive.firm import checks as noted
from recorder.archive.firm import conveyors as conveyor_list
from recorder.archive.firm import inventory as inventory_list
from recorder.archive.index.index import Index
from recorder.archive.jobs.acting import actor
from recorder.errors import BadValue, UnknownName
from recorder.knowhow.preparing import checks, fitting, length
from recorder.knowhow.preparing.proposal import Check, Proposal
from recorder.model.belt import Belt, folded
from recorder.model.inventory import Checked, Conveyor, Inventory

inventory = inventory_list.inventory
conveyors = conveyor_list.conveyors

_MOST_DAYS = 5  # of noted checks that are told


def take_inventory(home: Home, path: Path, today: date | None = None) -> inventory_list.Taken:
    """Take a list of presses and templates in place of the one before: all of it or nothing.

    Raises FileMissing, InputRefused, BadFirmFile, OutputUnwritable, Busy.
    """
    return inventory_list.take(home, path, today or date.today())


def take_conveyors(home: Home, path: Path) -> conveyor_list.Taken:
    """As ``take_inventory``, of the customers' conveyors; none with pulleys that cannot be."""
    return conveyor_list.take(home, path, length.check)


def conveyor(home: Home, wanted: str) -> Conveyor:
    """By its name, or where several have it by 'customer / name' or 'customer / site / name'.

    Raises UnknownName, BadFirmFile.
    """
    known = conveyors(home)
    found = [each for each in known if folded(wanted) in _names_of(each)]
    if len(found) == 1:
        return found[0]
    if found:
        full = " or ".join(repr(each.full_name) for each in found[:5])
        raise BadValue(value=wanted, field="one conveyor", hint=f"several have it; say {full}")
    near = near_names(wanted, ((each.full_name, each.name.lower()) for each in known))
    raise _unknown("conveyor", wanted, near, "conveyors list")


def _names_of(each: Conveyor) -> set[str]:
    names = (each.name, f"{each.customer} / {each.name}", each.full_name)
    return {folded(name) for name in names}


def checked(
    home: Home,
    kind: str | None,
    name: str,
    day: date | None = None,
    withdrawn: bool = False,
    today: date | None = None,
) -> Check | None:
    """Note that something was checked on a day, today when none is told; or, with ``withdrawn``,
    that a check noted before was none. What is due for it now, None where it has no interval.

    kind: 'press' or 'template', None where the name alone says it. Raises UnknownName, BadValue,
    BadFirmFile, ChecksDamaged, OutputUnwritable, Busy.
    """
    today = today or date.today()
    on = day or today
    if on > today:
        raise BadValue(value=str(on), field="the day of a check", hint="that day is still to come")
    kind, owned = _owned(inventory(home), kind, name)
    if withdrawn and on not in noted.days_noted(home, kind, owned.name):
        newest = sorted(noted.days_noted(home, kind, owned.name))[-_MOST_DAYS:]
        days = ", ".join(map(str, newest)) or "none"
        hint = f"no check of {owned.name} was noted on it (noted: {days})"
        raise BadValue(value=str(on), field="the day to withdraw", hint=hint)
    noted.note(
        home,
        noted.NotedCheck(
            kind=kind,
            name=owned.name,
            on=on,
            noted_at=datetime.now(UTC),
            by=actor().person,
            withdrawn=withdrawn,
        ),
    )
    return checks.check_of(kind, _owned(inventory(home), kind, owned.name)[1], today)


def _owned(known: Inventory, kind: str | None, name: str) -> tuple[str, Checked]:
    listed: list[tuple[str, Checked]] = [("press", each) for each in known.presses]
    listed += [("template", each) for each in known.templates]
    listed = [(each, owned) for each, owned in listed if kind in (None, each)]
    found = [each for each in listed if folded(each[1].name) == folded(name)]
    if len(found) > 1:
        hint = "a press and a template have this name; say --kind press or --kind template"
        raise BadValue(value=name, field="one thing of the inventory", hint=hint)
    if not found:
        near = near_names(name, ((owned.name, owned.name.lower()) for _, owned in listed))
        raise _unknown(kind or "press or template", name, near, "inventory list")
    return found[0]


def _unknown(kind: str, wanted: str, near: Iterable[str], command: str) -> UnknownName:
    meant = " or ".join(map(repr, near))
    told = f"; did you mean {meant}?" if meant else ""
    return UnknownName(kind=kind, wanted=wanted, near=told, command=command)


def checks_of(home: Home, today: date | None = None) -> tuple[Check, ...]:
    """Of everything that has an interval, the most urgent first. BadFirmFile, ChecksDamaged."""
    return checks.checks(inventory(home), today or date.today())


def checks_due(home: Home, today: date | None = None) -> tuple[Check, ...]:
    """Those that somebody should hear of: never checked, overdue, due soon. As ``checks_of``."""
    return checks.to_tell(checks_of(home, today))


def proposal_for(
    home: Home,
    belt: Belt,
    today: date | None = None,
    but: str | None = None,
    unit: str = "mm",
) -> Proposal:
    """Which template fits this belt. but: id of a job that does not count. unit: of the lengths in
    the reasons. Raises BadFirmFile, ChecksDamaged, and as the index.
    """
    owned = inventory(home)
    used = _accepted_with(home, belt, but) if owned.templates else {}
    return fitting.proposal(belt, owned, used, today or date.today(), unit)


def _accepted_with(home: Home, belt: Belt, but: str | None) -> Counter[str]:
    """Accepted splices by template, on belts that are this one in everything but the width, which
    a template takes or does not. Of a belt without a material nothing is known.
    """
    if belt.belt_material is None:
        return Counter()
    like = belt.model_copy(update={"belt_width": None})
    with Index.open(home, scanned=False) as index:
        runs = Past(index).runs_on(like, but)
    splices = {
        (run.job, run.splice, folded(run.template))
        for run in runs
        if run.template and run.outcome == "accepted"
    }
    return Counter(name for _, _, name in splices)
