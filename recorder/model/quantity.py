"""A number with a unit."""

from __future__ import annotations

from pydantic import field_validator

from recorder.model import units
from recorder.model.base import Value
from recorder.model.words import ENGLISH, Words


class Quantity(Value):
    """value: the number; unit: a name of ``units.UNITS``."""

    value: float
    unit: str

    @field_validator("unit")
    @classmethod
    def _known(cls, unit: str) -> str:
        if unit not in units.UNITS:
            raise ValueError(f"unknown unit {unit!r}")
        return unit

    def to(self, unit: str) -> Quantity:
        """The same quantity in another unit of its dimension; ValueError across dimensions."""
        return Quantity(value=units.convert(self.value, self.unit, unit), unit=unit)

    def __str__(self) -> str:
        return self.shown()

    def shown(self, words: Words = ENGLISH) -> str:
        """'172 °C', '0.5 mm'."""
        return units.show(self.value, self.unit, words=words)
