"""Unit conversions against NIST Special Publication 811 (2008), Guide for the Use of the SI.

The factors are those of Appendix B.8 (alphabetical) and B.9 (by kind of quantity), in their
spelling, quoted from memory and not copied from the publication. "Exact" stands for the factors
that it prints in boldface.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.model.reading import Typed
from recorder.model.units import UNITS, convert, units_of
from recorder.notes.quantities import find_quantities
from recorder.notes.typed import typed_reading

# unit, unit of the SI, factor, digits that are printed (0: exact), entry of Appendix B.8
FACTORS = [
    ("psi", "Pa", 6.894757e03, 7, "pound-force per square inch (psi)"),
    ("bar", "Pa", 1.0e05, 0, "bar (bar)"),
    ("mbar", "Pa", 1.0e02, 0, "millibar (mbar)"),
    ("inch", "m", 2.54e-02, 0, "inch (in)"),
    ("foot", "m", 3.048e-01, 0, "foot (ft)"),
    ("thou", "m", 2.54e-05, 0, "mil (0.001 in)"),
    ("min", "s", 6.0e01, 0, "minute (min)"),
    ("hour", "s", 3.6e03, 0, "hour (h)"),
    # SI prefixes: SP 811, table 5.
    ("kPa", "Pa", 1.0e03, 0, "kilo"),
    ("MPa", "Pa", 1.0e06, 0, "mega"),
    ("cm", "m", 1.0e-02, 0, "centi"),
    ("mm", "m", 1.0e-03, 0, "milli"),
]


@pytest.mark.parametrize(("unit", "to", "factor", "digits", "entry"), FACTORS)
def test_factor(unit: str, to: str, factor: float, digits: int, entry: str) -> None:
    converted = convert(1.0, unit, to)
    if digits:
        assert float(f"{converted:.{digits - 1}e}") == factor, entry
    else:
        assert converted == pytest.approx(factor, rel=1e-12), entry


# SP 811 B.8: degree Fahrenheit (degF) to degree Celsius: t/degC = (t/degF - 32)/1.8;
# to kelvin: T/K = (t/degF + 459.67)/1.8; degree Celsius to kelvin: T/K = t/degC + 273.15.
@given(st.floats(-459.67, 1000))
def test_temperature_formulas(value: float) -> None:
    assert convert(value, "degF", "degC") == pytest.approx((value - 32) / 1.8, abs=1e-8)
    assert convert(value, "degF", "kelvin") == pytest.approx((value + 459.67) / 1.8, abs=1e-8)
    assert convert(value, "degC", "kelvin") == pytest.approx(value + 273.15, abs=1e-8)


def test_inverse_of_every_conversion() -> None:
    for unit in UNITS:
        for other in units_of(UNITS[unit].dimension):
            assert convert(convert(172.0, unit, other), other, unit) == pytest.approx(172.0)


@pytest.mark.parametrize(
    ("field", "text", "canonical"),
    [
        ("pressure", "32 psi", 32 * 6.894757e03 / 1.0e05),
        ("pressure", "32 pounds per square inch", 32 * 6.894757e03 / 1.0e05),
        ("pressure", "220 kPa", 2.2),
        ("belt_width", "2 3/4 inches", 2.75 * 25.4),
        ("belt_width", "5 ft 2 in", 62 * 25.4),
        ("belt_thickness", "79 thou", 79 * 2.54e-02),
        ("top_temperature", "342 deg F", (342 - 32) / 1.8),
        ("dwell_time", "an hour and a half", 5400),
    ],
)
def test_what_is_typed_comes_out_in_the_canonical_unit(
    field: str, text: str, canonical: float
) -> None:
    assert typed_reading(field, text, Typed()).value == pytest.approx(canonical, rel=1e-6)


def test_what_is_said_converts_by_the_same_factors() -> None:
    (found,) = find_quantities("three-eighths of an inch")
    assert convert(found.value, found.unit, "mm") == pytest.approx(0.375 * 25.4)
