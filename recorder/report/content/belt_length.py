"""The length of the belt, as it was worked out before the job: what was to be cut and marked."""

from __future__ import annotations

from recorder.model import units
from recorder.model.length import BeltLength
from recorder.report.content import formats
from recorder.report.content.context import Entry
from recorder.report.content.entries import CustomerUnits
from recorder.report.wording.wording import say

_DECIMALS = 1  # a tape tells no more


def tape(mm: float) -> str:
    """'9190.7 mm'."""
    return formats.setting(round(mm, _DECIMALS), "mm")


def also(mm: float, customer: CustomerUnits) -> str:
    """The same in the customer's unit; empty where that is the millimetre."""
    wanted = customer.get("length", "mm")
    return "" if wanted == "mm" else formats.setting(units.convert(mm, "mm", wanted), wanted)


def length(mm: float, customer: CustomerUnits) -> str:
    """'9190.7 mm', or '9190.7 mm (361.839 in)'."""
    other = also(mm, customer)
    return f"{tape(mm)} ({other})" if other else tape(mm)


def entries(belt: BeltLength, customer: CustomerUnits) -> tuple[Entry, ...]:
    """What follows from it at the bench; how it was worked out is in the record."""
    rows = [
        (say("Endless length"), belt.endless),
        (say("Joined, slack"), belt.joined),
        (say("Punched, tip to tip"), belt.punched),
        (say("Cut, square to square"), belt.cut),
        (say("Marks apart, slack"), belt.mark_spacing),
    ]
    if belt.mark_tensioned is not None:
        rows.append((say("Marks apart, tensioned"), belt.mark_tensioned))
    return tuple(Entry(label=label, value=tape(mm), also=also(mm, customer)) for label, mm in rows)
