"""Amounts as a person types them to the length of a belt, and what is cut for it.

::

    texts with units ─┐
    belt, drive ──────┴─► pulleys and distance, or a length ─► endless ─► joined, cut, marks
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from recorder.errors import BadGeometry, BadValue, WrongUse
from recorder.knowhow.preparing import cutting, length
from recorder.knowhow.preparing.length import Centres
from recorder.model import tension
from recorder.model.belt import Belt
from recorder.model.fields import FIELDS, Field, Kind, Level
from recorder.model.length import Allowances, BeltLength, Drive
from recorder.model.reading import Typed
from recorder.notes.typed import typed_quantity, typed_reading


def _mm(name: str, label: str) -> Field:
    return Field(name, Kind.QUANTITY, Level.JOB, label, "mm")


# What can be told of a length, by key, beside splice_type.
AMOUNTS = {
    row.name: row
    for row in (
        _mm("pulley_1", "Pulley 1"),
        _mm("pulley_2", "Pulley 2"),
        _mm("centres", "Between the axes"),
        _mm("length", "Endless length"),
        _mm("thickness", "Belt thickness"),
        FIELDS["finger_length"],
        _mm("overlap", "Overlap"),
        _mm("take_up", "Take-up"),
        _mm("trim", "Trim"),
        _mm("mark_spacing", "Between the tension marks"),
        FIELDS["elongation"],
    )
}
_MAY_BE_ZERO = ("thickness", "overlap", "trim", "elongation")
_SPLICE_TYPE = "splice_type"


@dataclass(frozen=True)
class Worked:
    """length: what was worked out. missing: keys that have to be told before anything is cut; while
    there is any, joined is right and punched and cut are not. centres: the distance of the axes,
    where a length was told and both pulleys. assumed: what was taken for granted, in words.
    """

    length: BeltLength
    missing: tuple[str, ...] = ()
    centres: Centres | None = None
    assumed: tuple[str, ...] = ()


def typed(
    told: Mapping[str, str],
    belt: Belt | None = None,
    drive: Drive | None = None,
    inches: bool = False,
) -> Worked:
    """Work a length out of texts with units, by the keys of ``AMOUNTS``.

    belt, drive: stand in for what is not told. inches: whether usual distances are to be round in
    inches. Raises WrongUse, UnknownUnit, BadValue, and
    BadGeometry for what no belt can run over.
    """
    known = Belt() if belt is None else belt
    amounts = {key: _amount(key, text) for key, text in told.items() if key != _SPLICE_TYPE}
    amounts.setdefault("thickness", known.belt_thickness or 0.0)
    if drive is not None and "length" not in amounts:
        amounts.setdefault("centres", drive.centres)
    if drive is not None:
        amounts.setdefault("pulley_1", drive.pulley_1)
        amounts.setdefault("pulley_2", drive.pulley_2)
    splice = told.get(_SPLICE_TYPE)
    chosen = known.splice_type if splice is None else str(_choice(splice))
    finger_length = amounts.get("finger_length", known.finger_length)
    reach = cutting.reach(chosen, finger_length, amounts.get("overlap"))
    allowances = Allowances(
        fingers=reach.mm or 0.0,
        take_up=amounts.get("take_up", 0.0),
        trim=amounts.get("trim", 0.0),
    )
    try:
        worked, centres = _worked(amounts, allowances, inches)
    except ValueError as error:
        raise BadGeometry(detail=str(error)) from error
    return Worked(
        length=worked,
        missing=(reach.missing,) if reach.missing else (),
        centres=centres,
        assumed=tuple(_assumed(amounts, reach, worked)),
    )


def elongation(before: str, after: str) -> float:
    """Percent, from the marks as they were measured slack and tensioned. BadValue, UnknownUnit."""
    slack, tensioned = (
        typed_quantity(FIELDS[name], text).to("mm").value
        for name, text in zip(tension.MARKS, (before, after), strict=True)
    )
    try:
        return tension.elongation(slack, tensioned)
    except ValueError as error:
        hint = "measure from mark to mark, slack and tensioned"
        raise BadValue(value=f"{before}, {after}", field="tension marks", hint=hint) from error


def _worked(
    amounts: Mapping[str, float], allowances: Allowances, inches: bool
) -> tuple[BeltLength, Centres | None]:
    spacing, wanted = amounts.get("mark_spacing"), amounts.get("elongation")
    first, second = (amounts.get(key) for key in ("pulley_1", "pulley_2"))
    if "length" in amounts and "centres" in amounts:
        raise _wrong("the length follows from the distance of the axes: give one of them")
    if "length" not in amounts and (first is None or second is None or "centres" not in amounts):
        raise _wrong("give both pulleys and the distance of their axes, or the endless length")
    if (first is None) != (second is None):
        raise _wrong("give both pulleys, or none")
    if first is None or second is None:
        return length.of_endless(amounts["length"], allowances, spacing, wanted, inches), None
    centres = None
    between = amounts.get("centres", 0.0)
    if "length" in amounts:
        centres = length.centres(amounts["length"], first, second, amounts["thickness"])
        between = centres.exact
    drive = Drive(pulley_1=first, pulley_2=second, centres=between, thickness=amounts["thickness"])
    return length.belt_length(drive, allowances, spacing, wanted, inches), centres


def _assumed(amounts: Mapping[str, float], reach: cutting.Reach, worked: BeltLength) -> list[str]:
    found = []
    if worked.drive is not None:
        found.append(
            "the belt's length is that along the middle of its thickness"
            if amounts["thickness"]
            else "no thickness was told: the diameters count as they are, along the belt's middle"
        )
    if reach.why:
        found.append(reach.why)
    if "trim" not in amounts and not reach.missing:
        found.append("nothing is trimmed off when the ends are punched")
    return found


def _amount(key: str, text: str) -> float:
    if key not in AMOUNTS:
        raise _wrong(f"there is no {key!r}; use {', '.join((*AMOUNTS, _SPLICE_TYPE))}")
    row = AMOUNTS[key]
    value = typed_quantity(row, text).to(row.unit or "").value
    if value < 0 and key != "take_up":
        raise BadValue(value=text, field=row.label, hint="it cannot be negative")
    if value == 0 and key not in (*_MAY_BE_ZERO, "take_up"):
        raise BadValue(value=text, field=row.label, hint="it must be above zero")
    return value


def _choice(text: str) -> bool | float | str:
    return typed_reading(_SPLICE_TYPE, text, Typed()).value


def _wrong(detail: str) -> WrongUse:
    return WrongUse(detail=detail, command="length")
