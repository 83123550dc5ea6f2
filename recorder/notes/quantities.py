"""Quantities in any text."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.notes.numbers.amounts import amounts_of
from recorder.notes.words.lexer import tokens_of
from recorder.notes.words.speaking import Vocabulary, in_force, kept, speaking


@dataclass(frozen=True)
class FoundQuantity:
    """value, unit: a name of ``units.UNITS``. start, end: character offsets, end exclusive."""

    value: float
    unit: str
    start: int
    end: int


def find_quantities(text: str) -> tuple[FoundQuantity, ...]:
    """All numbers with a unit, in order. A number without a unit is not a quantity.

    Beside the units of the trade it knows those of other people's sentences ("10 km", "two weeks").
    A compound ("5 ft 2 in") is one quantity in its smaller unit; a range gives both its ends.
    The bare "degrees" is the unit ``deg``.
    """
    with speaking(_every_unit()):
        tokens = tokens_of(text)
        amounts = amounts_of(tokens)
    return tuple(
        FoundQuantity(
            amount.value, amount.unit, tokens[amount.start].start, tokens[amount.end - 1].end
        )
        for amount in amounts
        if amount.unit is not None
    )


@kept
def _every_unit() -> Vocabulary:
    """The vocabulary in force, and the units that its trade does not speak."""
    vocabulary = in_force()
    tables = dict(vocabulary.tables)
    for name in ("units", "short_units", "counts"):
        trade, other = tables.get(name, {}), tables.get(f"other_{name}", {})
        tables[name] = {
            key: [*trade.get(key, ()), *other.get(key, ())] for key in {**trade, **other}
        }
    return Vocabulary(vocabulary.language, tables, vocabulary.read)
