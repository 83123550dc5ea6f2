"""Units by their short names, converted by pint; the only module that imports it.

A unit name here is what JSON and the job folder carry (``degC``, ``mm``, ``bar``). pint knows all
of them by that spelling. The registry is built on first use because it costs a quarter second.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True)
class Unit:
    """One unit.

    name: as JSON spells it and as pint reads it.
    dimension: temperature, pressure, length, time, voltage, current, ratio or angle.
    symbol: as a page shows it.
    decimals: digits after the point that a page shows for a setting.
    """

    name: str
    dimension: str
    symbol: str
    decimals: int


_TABLE = (
    Unit("degC", "temperature", "°C", 0),
    Unit("degF", "temperature", "°F", 0),
    Unit("kelvin", "temperature", "K", 0),
    Unit("bar", "pressure", "bar", 2),
    Unit("mbar", "pressure", "mbar", 0),
    Unit("Pa", "pressure", "Pa", 0),
    Unit("kPa", "pressure", "kPa", 0),
    Unit("MPa", "pressure", "MPa", 3),
    Unit("psi", "pressure", "psi", 1),
    Unit("mm", "length", "mm", 2),
    Unit("cm", "length", "cm", 2),
    Unit("m", "length", "m", 3),
    Unit("inch", "length", "in", 3),
    Unit("foot", "length", "ft", 2),
    Unit("thou", "length", "thou", 0),
    Unit("s", "time", "s", 0),
    Unit("min", "time", "min", 1),
    Unit("hour", "time", "h", 2),
    Unit("V", "voltage", "V", 0),
    Unit("A", "current", "A", 1),
    Unit("percent", "ratio", "%", 2),
    Unit("deg", "angle", "°", 2),
)

UNITS: dict[str, Unit] = {unit.name: unit for unit in _TABLE}


def units_of(dimension: str) -> tuple[str, ...]:
    """Names of the units of one dimension, in the order of the table."""
    return tuple(unit.name for unit in _TABLE if unit.dimension == dimension)


@functools.cache
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry()


def convert(value: float, unit: str, to: str) -> float:
    """Convert an absolute value (a temperature, not a difference) between two named units.

    Raises ValueError when the two are not of one dimension and KeyError for an unknown name.
    Twelve significant digits are kept, so that 350 degF does not come back as 349.99999999999994.
    """
    if UNITS[unit].dimension != UNITS[to].dimension:
        raise ValueError(f"{unit} cannot become {to}")
    if unit == to:
        return value
    factor, offset = _straight_line(unit, to)
    return float(f"{value * factor + offset:.12g}")


@functools.cache
def _straight_line(unit: str, to: str) -> tuple[float, float]:
    """Factor and offset between two units, from pint, which is slow to ask for every value."""
    at_zero, at_thousand = (
        _registry().Quantity(value, unit).to(to).magnitude for value in (0.0, 1000.0)
    )
    return (at_thousand - at_zero) / 1000, at_zero


def show(value: float, unit: str, decimals: int | None = None) -> str:
    """A value with its symbol for a person: the unit's usual decimals, no trailing zeros."""
    places = UNITS[unit].decimals if decimals is None else decimals
    text = f"{value:.{places}f}"
    if decimals is None and "." in text:
        text = text.rstrip("0").rstrip(".")
    symbol = UNITS[unit].symbol
    return f"{text}{symbol}" if unit in ("percent", "deg") else f"{text} {symbol}"
