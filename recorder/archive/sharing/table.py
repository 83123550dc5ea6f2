"""Tables for other programs: CSV with the unit of each number in its heading."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import TextIO

from recorder.model.fields import FIELDS
from recorder.model.units import UNITS, convert

Cell = str | float | bool | datetime | None
Units = Mapping[str, str]  # a unit by dimension, where it is not the canonical one

# A spreadsheet takes such a cell for a formula and runs it: OWASP, "CSV Injection",
# https://owasp.org/www-community/attacks/CSV_Injection; the last four are the wide forms.
_FORMULA = tuple("=+-@\t\r\n＝＋－＠")


def unit_in(field: str, units: Units) -> str | None:
    """The unit in which values of a field are given; None for a field without units."""
    canonical = FIELDS[field].unit
    return units.get(UNITS[canonical].dimension, canonical) if canonical else None


def value_in(field: str, value: Cell, units: Units) -> Cell:
    """A value of a field, which is in its canonical unit, in the wanted one.

    To nine digits, so that 32 psi, which were kept as bar, are not 31.9999999999.
    """
    canonical, wanted = FIELDS[field].unit, unit_in(field, units)
    if canonical is None or wanted in (None, canonical) or not isinstance(value, (int, float)):
        return value
    return float(f"{convert(float(value), canonical, wanted):.9g}")


def heading(field: str, units: Units) -> str:
    """'top_temperature_degC', and 'customer' for a field without units."""
    unit = unit_in(field, units)
    return f"{field}_{unit}" if unit else field


def write_csv(file: TextIO, headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """RFC 4180: commas, CR LF, quotation marks where needed. file: opened with ``newline=""``.

    A text that a spreadsheet would take for a formula gets an apostrophe before it; numbers are as
    they are. True and false are words, times ISO 8601 with zone, and what is not known is empty.
    """
    table = csv.writer(file)
    table.writerow(headings)
    table.writerows([_written(cell) for cell in row] for row in rows)


def in_words(cell: Cell) -> str:
    """A cell as text, without a guard against formulas."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, (int, float)):
        return f"{cell:.12g}"
    if isinstance(cell, datetime):
        return cell.isoformat()
    return cell.encode("utf-8", "replace").decode()


def _written(cell: Cell) -> str:
    text = in_words(cell)
    return f"'{text}" if isinstance(cell, str) and text.startswith(_FORMULA) else text
