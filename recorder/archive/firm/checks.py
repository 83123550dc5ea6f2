"""Checks of presses and templates as they were noted, in a file that only grows.

One JSON object a line in ``<home>/checks.jsonl``. A check that was noted by mistake is withdrawn by
another line, so that it can still be seen who noted what.
"""

from __future__ import annotations

from datetime import date
from typing import TypeVar

from pydantic import AwareDatetime, ValidationError

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.errors import ChecksDamaged
from recorder.model.base import Value
from recorder.model.belt import folded
from recorder.model.inventory import Checked, Inventory
from recorder.settings import first_fault

Owned = TypeVar("Owned", bound=Checked)


class NotedCheck(Value):
    """kind: press or template. name: as the list has it. on: the day of the check. noted_at: when
    and by: by whom it was noted. withdrawn: there was none on that day after all.
    """

    kind: str
    name: str
    on: date
    noted_at: AwareDatetime
    by: str = ""
    withdrawn: bool = False


def noted_checks(home: Home) -> tuple[NotedCheck, ...]:
    """All of them, as they were noted. Raises ChecksDamaged that names the line."""
    try:
        atomic.need_regular(home.checks)
        lines = home.checks.read_bytes().splitlines()
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise ChecksDamaged(path=home.checks, detail=cause(error)) from error
    found = []
    for number, line in enumerate(lines, 1):
        try:
            found.append(NotedCheck.model_validate_json(line))
        except ValidationError as error:
            detail = f"line {number}: {first_fault(error)}"
            raise ChecksDamaged(path=home.checks, detail=detail) from error
    return tuple(found)


def note(home: Home, check: NotedCheck) -> None:
    """Raises ChecksDamaged, OutputUnwritable, Busy."""
    with lock.held(home.checks):
        noted_checks(home)  # nothing is added behind a damaged line
        before = home.checks.read_bytes() if home.checks.exists() else b""
        before += b"" if before.endswith(b"\n") or not before else b"\n"  # as an editor left it
        atomic.sweep(home.checks)
        atomic.write(home.checks, before + check.model_dump_json().encode() + b"\n")


def days_noted(home: Home, kind: str, name: str) -> frozenset[date]:
    """The days of the checks of one thing that stand. Raises ChecksDamaged."""
    return _standing(home).get((kind, folded(name)), frozenset())


def with_noted(home: Home, inventory: Inventory) -> Inventory:
    """The same, each with its last check, whether its list or a note tells of it."""
    standing = _standing(home)

    def latest(kind: str, owned: Owned) -> Owned:
        days = standing.get((kind, folded(owned.name)), frozenset())
        if owned.last_check is not None:
            days |= {owned.last_check}
        return owned.model_copy(update={"last_check": max(days, default=None)})

    return Inventory(
        presses=tuple(latest("press", press) for press in inventory.presses),
        templates=tuple(latest("template", template) for template in inventory.templates),
    )


def _standing(home: Home) -> dict[tuple[str, str], frozenset[date]]:
    days: dict[tuple[str, str], frozenset[date]] = {}
    for check in noted_checks(home):
        key = (check.kind, folded(check.name))
        known = days.get(key, frozenset())
        days[key] = known - {check.on} if check.withdrawn else known | {check.on}
    return days
