"""One amount: a number in a text, and the unit that was said with it."""

from __future__ import annotations

from dataclasses import dataclass

from recorder.notes.numbers.numbers import Number


@dataclass(frozen=True)
class Amount:
    """A number in tokens[start:end] with its unit, or None when none was said.

    number: of its first part, for what it looked like; its value is ``value`` unless compound.
    borrowed: its unit was said after a later number ("170 to 175 degrees").
    ranged: it is one end of a range. clock: written as 3:30, then in seconds or minutes.
    parts: the hundreds and the rest, when they were written apart ("100, and 87 degrees").
    """

    value: float
    unit: str | None
    start: int
    end: int
    number: Number
    borrowed: bool = False
    ranged: bool = False
    clock: bool = False
    parts: tuple[float, ...] = ()
