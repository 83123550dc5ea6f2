"""Values as these pages show them: in canonical units, or in those that the address asks for."""

from __future__ import annotations

from collections.abc import Mapping

from recorder.archive.sharing.table import unit_in
from recorder.model.fields import FIELDS
from recorder.model.reading import show_value
from recorder.model.units import UNITS, convert, show

Units = Mapping[str, str]  # name of the wanted unit, by dimension


def amount(field: str, value: float | str, units: Units) -> str:
    """'356 °F'; a word of a choice as people say it."""
    unit = unit_in(field, units)
    if unit is None or isinstance(value, str):
        return show_value(field, value)
    return show(convert(value, FIELDS[field].unit or unit, unit), unit)


def span(field: str, low: float, high: float, units: Units) -> str:
    """'176 to 184 °C'."""
    return f"{_bare(amount(field, low, units))} to {amount(field, high, units)}"


def difference(field: str, value: float, units: Units) -> str:
    """A spread or another difference, to two digits: '2.1 K', '3.6 °F'."""
    canonical, unit = FIELDS[field].unit, unit_in(field, units)
    if canonical is None or unit is None:
        return f"{value:.2g}"
    between = convert(value, canonical, unit) - convert(0.0, canonical, unit)
    return f"{between:.2g} {'K' if unit == 'degC' else UNITS[unit].symbol}"


def exact(field: str, value: float | str) -> str:
    """So that the same value is read back from it: '2.125 mm'."""
    unit = FIELDS[field].unit
    return f"{value:.12g} {unit}" if unit and not isinstance(value, str) else str(value)


def _bare(text: str) -> str:
    return text.partition(" ")[0]
