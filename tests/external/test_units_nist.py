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
    ("day", "s", 8.64e04, 0, "day (d)"),
    ("ksi", "Pa", 6.894757e06, 7, "kip per square inch (ksi)"),
    ("atm", "Pa", 1.01325e05, 0, "atmosphere, standard (atm)"),
    ("technical_atmosphere", "Pa", 9.80665e04, 0, "atmosphere, technical (at)"),
    ("torr", "Pa", 1.333224e02, 7, "torr (Torr)"),
    ("mmHg", "Pa", 1.333224e02, 7, "millimeter of mercury, conventional (mmHg)"),
    ("inHg", "Pa", 3.386389e03, 7, "inch of mercury, conventional (inHg)"),
    ("inH2O", "Pa", 2.490889e02, 7, "inch of water, conventional (inH2O)"),
    ("cmH2O", "Pa", 9.80665e01, 7, "centimeter of water, conventional (cmH2O)"),
    ("um", "m", 1.0e-06, 0, "micron"),
    ("angstrom", "m", 1.0e-10, 0, "angstrom"),
    ("yard", "m", 9.144e-01, 0, "yard (yd)"),
    ("mile", "m", 1.609344e03, 0, "mile (mi)"),
    ("nautical_mile", "m", 1.852e03, 0, "mile, nautical"),
    ("fathom", "m", 1.828804e00, 7, "fathom (based on U.S. survey foot)"),
    ("astronomical_unit", "m", 1.495979e11, 7, "astronomical unit (ua)"),
    ("light_year", "m", 9.46073e15, 6, "light year (l.y.)"),
    ("deg", "rad", 1.745329e-02, 7, "degree (angle)"),
    # SI prefixes: SP 811, table 5.
    ("hPa", "Pa", 1.0e02, 0, "hecto"),
    ("kPa", "Pa", 1.0e03, 0, "kilo"),
    ("MPa", "Pa", 1.0e06, 0, "mega"),
    ("GPa", "Pa", 1.0e09, 0, "giga"),
    ("km", "m", 1.0e03, 0, "kilo"),
    ("dm", "m", 1.0e-01, 0, "deci"),
    ("cm", "m", 1.0e-02, 0, "centi"),
    ("mm", "m", 1.0e-03, 0, "milli"),
    ("nm", "m", 1.0e-09, 0, "nano"),
    ("pm", "m", 1.0e-12, 0, "pico"),
    ("ms", "s", 1.0e-03, 0, "milli"),
    ("us", "s", 1.0e-06, 0, "micro"),
    ("ns", "s", 1.0e-09, 0, "nano"),
    ("MV", "V", 1.0e06, 0, "mega"),
    ("kV", "V", 1.0e03, 0, "kilo"),
    ("mV", "V", 1.0e-03, 0, "milli"),
    ("uV", "V", 1.0e-06, 0, "micro"),
    ("kA", "A", 1.0e03, 0, "kilo"),
    ("mA", "A", 1.0e-03, 0, "milli"),
    ("uA", "A", 1.0e-06, 0, "micro"),
    # Parts of one: SP 811, 7.10.2 and 7.10.3.
    ("permille", "percent", 1.0e-01, 0, "per mille"),
    ("ppm", "percent", 1.0e-04, 0, "part per million"),
]
# Spans of the calendar, which SP 811 leaves to others: 7 days; the Julian year of the International
# Astronomical Union, 365.25 days, and its twelfth.
CALENDAR_DAYS = {"week": 7, "fortnight": 14, "year": 365.25, "month": 30.4375, "century": 36525}


@pytest.mark.parametrize(("unit", "to", "factor", "digits", "entry"), FACTORS)
def test_factor(unit: str, to: str, factor: float, digits: int, entry: str) -> None:
    converted = convert(1.0, unit, to)
    if digits:
        assert float(f"{converted:.{digits - 1}e}") == factor, entry
    else:
        assert converted == pytest.approx(factor, rel=1e-12), entry


@pytest.mark.parametrize(("unit", "days"), CALENDAR_DAYS.items())
def test_calendar(unit: str, days: float) -> None:
    assert convert(1.0, unit, "day") == pytest.approx(days, rel=1e-12)


def test_every_unit_is_held_against_a_source() -> None:
    named = {unit for row in FACTORS for unit in row[:2]} | CALENDAR_DAYS.keys()
    assert set(UNITS) - named == {"degC", "degF", "degR", "kelvin"}


# SP 811 B.8: degree Fahrenheit (degF) to degree Celsius: t/degC = (t/degF - 32)/1.8;
# to kelvin: T/K = (t/degF + 459.67)/1.8; degree Celsius to kelvin: T/K = t/degC + 273.15.
@given(st.floats(-459.67, 1000))
def test_temperature_formulas(value: float) -> None:
    assert convert(value, "degF", "degC") == pytest.approx((value - 32) / 1.8, abs=1e-8)
    assert convert(value, "degF", "kelvin") == pytest.approx((value + 459.67) / 1.8, abs=1e-8)
    assert convert(value, "degC", "kelvin") == pytest.approx(value + 273.15, abs=1e-8)
    # Degree Rankine: T/K = (T/degR)/1.8.
    assert convert(value + 459.67, "degR", "kelvin") == pytest.approx((value + 459.67) / 1.8)


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
