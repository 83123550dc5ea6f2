"""The narrations of a bench set with their truth, from ``sets/*.toml``.

Truth is what a careful clerk would write into the form. A plain field name means: in force at the
end. ``splice 1 / FIELD`` and ``splice 1 run 2 / FIELD`` mean: of that splice, of that press run.
Rules may be tuned on 'development'; figures are quoted from 'report' alone.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from recorder.model.fields import FIELDS, Field, Kind, Level
from recorder.model.quantity import Quantity

SETS = Path(__file__).parent / "sets"
_KEY = re.compile(r"(?:splice (?P<splice>\d+)(?: run (?P<run>\d+))? / )?(?P<field>[a-z_]+)")

Told = bool | float | str


@dataclass(frozen=True)
class Slot:
    """One value that should be found.

    splice, run: None for what is in force at the end. value: a quantity in the field's canonical
    unit, a count as float, a flag, or words.
    """

    key: str
    field: str
    value: Told
    splice: int | None = None
    run: int | None = None


@dataclass(frozen=True)
class Narration:
    """lines: one utterance each, as spoken, without digits."""

    name: str
    lines: tuple[str, ...]
    truth: tuple[Slot, ...]


def load(name: str) -> tuple[Narration, ...]:
    """A set by its name. Raises ValueError that names the narration and the key at fault."""
    with (SETS / f"{name}.toml").open("rb") as file:
        rows = tomllib.load(file)["narration"]
    return tuple(_narration(row) for row in rows)


def _narration(row: dict[str, Any]) -> Narration:
    name = row["name"]
    slots = []
    for key, given in row["truth"].items():
        try:
            slots.append(slot(key, given))
        except (ValueError, KeyError) as error:
            raise ValueError(f"{name}: {key} = {given!r}: {error}") from error
    return Narration(name, tuple(row["lines"]), tuple(slots))


def slot(key: str, given: Any) -> Slot:
    """A row of the truth table. Raises ValueError or KeyError when it fits no field."""
    match = _KEY.fullmatch(key)
    if not match:
        raise ValueError("neither a field nor 'splice N [run M] / field'")
    field = FIELDS[match["field"]]
    splice, run = (int(match[part]) if match[part] else None for part in ("splice", "run"))
    wanted = {Level.JOB: (False, False), Level.SPLICE: (True, False), Level.RUN: (True, True)}
    if splice and (True, bool(run)) != wanted[field.level]:
        raise ValueError(f"{field.name} belongs to a {field.level}")
    return Slot(key, field.name, _canonical(field, given), splice, run)


def _canonical(field: Field, given: Any) -> Told:
    written_as: type = type(given)
    if written_as is not {Kind.FLAG: bool, Kind.COUNT: int}.get(field.kind, str):
        raise ValueError(f"a {field.kind} is written otherwise")
    if field.unit:
        number, unit = given.split(" ")
        return Quantity(value=float(number), unit=unit).to(field.unit).value
    if field.kind is Kind.COUNT:
        return float(given)
    if field.kind is Kind.CHOICE and given not in field.choices:
        raise ValueError(f"one of {', '.join(field.choices)}")
    if field.kind is Kind.TIME and not re.fullmatch(r"[0-2]\d:[0-5]\d", given):
        raise ValueError("a clock time is written HH:MM")
    return bool(given) if field.kind is Kind.FLAG else str(given)
