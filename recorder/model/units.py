"""Units by their short names, converted by pint; the only module that imports it.

A unit name here is what JSON and the job folder carry (``degC``, ``mm``, ``bar``). pint knows all
of them by that spelling. The registry is built on first use because it costs a quarter second.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from recorder.model.words import ENGLISH, Words

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


# Those that the trade speaks come first in each dimension; the others stand in other people's
# sentences, and the fields never see them.
_TABLE = (
    Unit("degC", "temperature", "°C", 0),
    Unit("degF", "temperature", "°F", 0),
    Unit("kelvin", "temperature", "K", 0),
    Unit("degR", "temperature", "°R", 0),
    Unit("bar", "pressure", "bar", 2),
    Unit("mbar", "pressure", "mbar", 0),
    Unit("Pa", "pressure", "Pa", 0),
    Unit("kPa", "pressure", "kPa", 0),
    Unit("MPa", "pressure", "MPa", 3),
    Unit("psi", "pressure", "psi", 1),
    Unit("hPa", "pressure", "hPa", 0),
    Unit("GPa", "pressure", "GPa", 3),
    Unit("ksi", "pressure", "ksi", 2),
    Unit("atm", "pressure", "atm", 2),
    Unit("technical_atmosphere", "pressure", "kgf/cm²", 2),
    Unit("torr", "pressure", "Torr", 0),
    Unit("mmHg", "pressure", "mmHg", 0),
    Unit("inHg", "pressure", "inHg", 2),
    Unit("inH2O", "pressure", "inH₂O", 1),
    Unit("cmH2O", "pressure", "cmH₂O", 1),
    Unit("mm", "length", "mm", 2),
    Unit("cm", "length", "cm", 2),
    Unit("m", "length", "m", 3),
    Unit("inch", "length", "in", 3),
    Unit("foot", "length", "ft", 2),
    Unit("thou", "length", "thou", 0),
    Unit("um", "length", "µm", 0),
    Unit("pm", "length", "pm", 0),
    Unit("angstrom", "length", "Å", 1),
    Unit("nm", "length", "nm", 0),
    Unit("dm", "length", "dm", 2),
    Unit("km", "length", "km", 3),
    Unit("yard", "length", "yd", 2),
    Unit("mile", "length", "mi", 3),
    Unit("fathom", "length", "fathoms", 1),
    Unit("nautical_mile", "length", "nmi", 2),
    Unit("astronomical_unit", "length", "au", 3),
    Unit("light_year", "length", "ly", 2),
    Unit("s", "time", "s", 0),
    Unit("min", "time", "min", 1),
    Unit("hour", "time", "h", 2),
    Unit("ns", "time", "ns", 0),
    Unit("us", "time", "µs", 0),
    Unit("ms", "time", "ms", 0),
    Unit("day", "time", "d", 2),
    Unit("week", "time", "weeks", 2),
    Unit("fortnight", "time", "fortnights", 2),
    Unit("month", "time", "months", 2),
    Unit("year", "time", "years", 2),
    Unit("century", "time", "centuries", 2),
    Unit("V", "voltage", "V", 0),
    Unit("uV", "voltage", "µV", 0),
    Unit("mV", "voltage", "mV", 0),
    Unit("kV", "voltage", "kV", 2),
    Unit("MV", "voltage", "MV", 2),
    Unit("A", "current", "A", 1),
    Unit("uA", "current", "µA", 0),
    Unit("mA", "current", "mA", 0),
    Unit("kA", "current", "kA", 2),
    Unit("percent", "ratio", "%", 2),
    Unit("permille", "ratio", "‰", 2),
    Unit("ppm", "ratio", "ppm", 0),
    Unit("deg", "angle", "°", 2),
    Unit("rad", "angle", "rad", 3),
)

_AMOUNT = re.compile(r"\s*([-+]?\d+(?:[.,]\d+)?)\s*([^\d\s.,+-][^\d\s]*)\s*", re.ASCII)

_LONGEST_TYPED = 15  # characters, of a number that the lexer of ``recorder/notes`` takes for one

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


def amount(text: str) -> tuple[float, str]:
    """'0.5 mm' as number and name of the unit; units by name, symbol or in words that pint knows.

    Raises ValueError that says what a person can write. A comma is a point, unless it may part
    thousands.
    """
    parts = _AMOUNT.fullmatch(text)
    if not parts:
        raise ValueError(f"{text!r} is no number with its unit, for example '0.5 mm'")
    digits, said = parts.groups()
    if re.search(r",\d{3}$", digits):
        raise ValueError(f"the comma in {text!r} can mean two numbers; write a point")
    found = said if said in UNITS else _named(said)
    if found is None:
        raise ValueError(f"{said!r} in {text!r} is no unit that is known here")
    return float(digits.replace(",", ".")), found


def _named(said: str) -> str | None:
    """The unit that a symbol or a word means."""
    by_symbol = next((unit.name for unit in _TABLE if unit.symbol == said), None)
    if by_symbol is not None:
        return by_symbol
    try:
        meant = _registry().Unit(said)
    except Exception:  # pint raises errors of its own and of its parser for what it cannot read
        return None
    return next((name for name in UNITS if _registry().Unit(name) == meant), None)


def show(value: float, unit: str, decimals: int | None = None, words: Words = ENGLISH) -> str:
    """A value with its symbol for a person: the unit's usual decimals, no trailing zeros."""
    places = UNITS[unit].decimals if decimals is None else decimals
    text = f"{value:z.{places}f}"  # z: no "-0"
    if decimals is None and "." in text:
        text = text.rstrip("0").rstrip(".")
    return with_symbol(words.digits(text), unit)


def plain(value: float) -> str:
    """Up to twelve significant digits as a person types them, without an exponent: '0.0001', '250'.

    Of a number that is smaller than a ten-thousandth fewer, so that it is short enough to be read.
    """
    found = (f"{Decimal(f'{value:.{digits}g}'):f}" for digits in range(12, 0, -1))
    return next((text for text in found if len(text) <= _LONGEST_TYPED), "0")


def with_symbol(number: str, unit: str) -> str:
    """'0.5 mm', '5 %', but '0.2°' (SI Brochure, 5.4.3)."""
    symbol = UNITS[unit].symbol
    return f"{number}{symbol}" if unit == "deg" else f"{number} {symbol}"
