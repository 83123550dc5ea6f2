"""Quantities in any text."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.notes.amounts import amounts_of
from recorder.notes.lexer import tokens_of


@dataclass(frozen=True)
class FoundQuantity:
    """value, unit: a name of ``units.UNITS``. start, end: character offsets, end exclusive."""

    value: float
    unit: str
    start: int
    end: int


def find_quantities(text: str) -> tuple[FoundQuantity, ...]:
    """All numbers with a unit, in order. A number without a unit is not a quantity.

    A compound ("5 ft 2 in") is one quantity in its smaller unit; a range gives both its ends.
    The bare "degrees" is the unit ``deg``.
    """
    tokens = tokens_of(text)
    return tuple(
        FoundQuantity(
            amount.value, amount.unit, tokens[amount.start].start, tokens[amount.end - 1].end
        )
        for amount in amounts_of(tokens)
        if amount.unit is not None
    )
