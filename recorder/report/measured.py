"""What the photos of one splice gave, as a table: a row a characteristic, a column a photo."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from recorder.model import units
from recorder.model.measurement import Decision, Limit, Measurement, SeamMeasurement
from recorder.report.context import Entry, Mark, Measured, MeasurementRow, Measurements
from recorder.report.entries import NOTHING_ASKED, CustomerUnits, Readings, entry

DECISION = {
    Decision.WITHIN: Mark(kind="within", sign="✓", word="within limit"),
    Decision.OUTSIDE: Mark(kind="outside", sign="✗", word="outside limit"),
    Decision.UNDECIDED: Mark(kind="undecided", sign="?", word="undecided"),
}
DIFFERS = Mark(kind="doubtful", sign="▲", word="differs from photo")


@dataclass(frozen=True)
class _Characteristic:
    """One row. name: in SeamMeasurement. field: in which it is spoken and limited, if any."""

    name: str
    label: str
    field: str | None = None


_ROWS = (
    _Characteristic("gap_max", "Largest finger gap", "finger_gap"),
    _Characteristic("gap_mean", "Mean finger gap"),
    _Characteristic("splice_width", "Splice width", "splice_width"),
    _Characteristic("belt_width", "Belt width"),
    _Characteristic("edge_offset", "Edge offset", "edge_offset"),
    _Characteristic("skew", "Skew"),
    _Characteristic("finger_pitch", "Finger pitch"),
    _Characteristic("finger_count", "Fingers"),
)


def table(
    headings: Sequence[str],
    photos: Sequence[SeamMeasurement],
    known: Readings,
    customer: CustomerUnits,
) -> Measurements | None:
    """headings: of the photos, in their order. known: readings of the splice. None if empty."""
    rows = [row for each in _ROWS if (row := _row(each, photos, known, customer))]
    if not rows:
        return None
    applied = {limit.name: limit for photo in photos for limit in photo.limits}
    return Measurements(
        photos=tuple(headings),
        rows=tuple(rows),
        coverage=_coverage(photos),
        sources=_sources(applied),
    )


def _row(
    what: _Characteristic,
    photos: Sequence[SeamMeasurement],
    known: Readings,
    customer: CustomerUnits,
) -> MeasurementRow | None:
    values = [getattr(photo, what.name) for photo in photos]
    spoken = what.field is not None and what.field in known
    if all(value is None for value in values) and not spoken:
        return None
    limits = [limit for photo in photos for limit in photo.limits if limit.name == what.field]
    return MeasurementRow(
        label=what.label,
        limit=limit_text(limits[-1]) if limits else NOTHING_ASKED,
        said=_said(what.field, values, known, customer),
        photos=tuple(
            _measured(value, photo.decisions.get(what.field or ""), customer)
            for value, photo in zip(values, photos, strict=True)
        ),
    )


def _said(
    field: str | None,
    values: Sequence[Measurement | None],
    known: Readings,
    customer: CustomerUnits,
) -> Entry:
    """The spoken value, marked where it disagrees with the last photo beyond U."""
    if field is None:
        return Entry(label="", value=NOTHING_ASKED, absent=True)
    found = entry(field, known, customer, NOTHING_ASKED)
    last = next((value for value in reversed(values) if value is not None), None)
    if found.absent or last is None:
        return found
    said = float(known[field].value)
    apart = said > last.value if last.below else abs(said - last.value) > last.U
    return found.model_copy(update={"mark": DIFFERS}) if apart else found


def _measured(
    value: Measurement | int | None, decision: Decision | None, customer: CustomerUnits
) -> Measured:
    if value is None:
        return Measured(value=NOTHING_ASKED)
    if isinstance(value, int):
        return Measured(value=str(value))
    other = _in_customer_unit(value, customer)
    return Measured(
        value=measurement_text(value),
        also=measurement_text(other) if other else "",
        decision=DECISION[decision] if decision else None,
    )


def measurement_text(value: Measurement) -> str:
    """'0.35 ± 0.06 mm', or 'below 0.12 mm' under the quantification limit.

    As many decimals as leave U two significant digits (JCGM 100, 7.2.6), though not beyond a
    hundredth of a millimetre unless U is smaller than that.
    """
    symbol = units.UNITS[value.unit].symbol
    decimals = _decimals(value.U, value.unit)
    if value.below:
        return f"below {value.value:.{decimals}f} {symbol}"
    plus = "" if value.k == 2 else f" (k = {value.k:g})"
    return f"{value.value:.{decimals}f} ± {value.U:.{decimals}f} {symbol}{plus}"


def _decimals(U: float, unit: str) -> int:
    usual = units.UNITS[unit].decimals
    if U <= 0:
        return usual
    leading = -math.floor(math.log10(U))  # place of the first significant digit
    return max(0, min(leading + 1, max(leading, usual)))


def _in_customer_unit(value: Measurement, customer: CustomerUnits) -> Measurement | None:
    """Lengths only: they scale, so that U does too."""
    dimension = units.UNITS[value.unit].dimension
    wanted = customer.get(dimension, value.unit)
    if wanted == value.unit or dimension != "length":
        return None
    scale = units.convert(1.0, value.unit, wanted)
    return value.model_copy(
        update={"value": value.value * scale, "U": value.U * scale, "unit": wanted}
    )


def limit_text(limit: Limit) -> str:
    """'at most 0.5 mm', 'at least 60 mm' or '69.3 to 70.7 mm'."""
    symbol = units.UNITS[limit.unit].symbol
    if limit.low is not None and limit.high is not None:
        return f"{limit.low:g} to {limit.high:g} {symbol}"
    if limit.high is not None:
        return f"at most {limit.high:g} {symbol}"
    return NOTHING_ASKED if limit.low is None else f"at least {limit.low:g} {symbol}"


def _coverage(photos: Sequence[SeamMeasurement]) -> str:
    found = [getattr(photo, each.name) for photo in photos for each in _ROWS]
    factors = {value.k for value in found if isinstance(value, Measurement)}
    usual = " with coverage factor k = 2 (about 95 %)" if 2 in factors else ""
    return f"± is the expanded uncertainty U{usual}. Within: the whole interval keeps the limit."


def _sources(limits: dict[str, Limit]) -> tuple[str, ...]:
    names = {each.field: each.label for each in _ROWS if each.field}
    by_source: dict[str, list[str]] = {}
    for name, limit in limits.items():
        by_source.setdefault(limit.source or "source not given", []).append(names.get(name, name))
    return tuple(f"{', '.join(which)}: {source}" for source, which in by_source.items())
