from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.model.units import UNITS
from recorder.notes.quantities import find_quantities

ONE = {
    "two point two five bar": (2.25, "bar"),
    "1,250 mm": (1250, "mm"),
    "half an inch": (0.5, "inch"),
    "half inch": (0.5, "inch"),
    "three-eighths of an inch": (0.375, "inch"),
    "3/8 inch": (0.375, "inch"),
    "a quarter of an inch": (0.25, "inch"),
    "1 1/2 inches": (1.5, "inch"),
    "15 thousandths of an inch": (0.015, "inch"),
    "5 ft 2 in": (62, "inch"),
    "five foot two": (62, "inch"),
    "5'2\"": (62, "inch"),
    "12 ft 2 in": (146, "inch"),
    "an hour and a half": (1.5, "hour"),
    "two hours and a quarter": (2.25, "hour"),
    "three quarters of an hour": (0.75, "hour"),
    "1 h 30 min": (90, "min"),
    "3 min 30 s": (210, "s"),
    "three minutes and thirty seconds": (210, "s"),
    "eleven minutes thirty": (690, "s"),
    "1 h 30 min 5 s": (5405, "s"),
    "3:30 min": (3.5, "min"),
    "172 celcius": (172, "degC"),
    "172 degrees centigrade": (172, "degC"),
    "350 deg F": (350, "degF"),
    "350 farenheit": (350, "degF"),
    "172 ° C": (172, "degC"),
    "172°C": (172, "degC"),
    "172C": (172, "degC"),
    "-40 °F": (-40, "degF"),
    "minus five degrees Celsius": (-5, "degC"),
    "172 degrees": (172, "deg"),
    "2 hrs": (2, "hour"),
    "32 pounds per square inch": (32, "psi"),
    "32 p s i": (32, "psi"),
    "32PSI": (32, "psi"),
    "2.2bar": (2.2, "bar"),
    "two hundred and fifty kilopascals": (250, "kPa"),
    "0.25 MPa": (0.25, "MPa"),
    "seventy millimetres": (70, "mm"),
    "12 milimeters": (12, "mm"),
    "12 millimeterz": (12, "mm"),
    "double two mm": (22, "mm"),
    "1 250 mm": (1250, "mm"),
    "12 000 mm": (12000, "mm"),
    "1.5e5 Pa": (150000, "Pa"),
    "5-foot-2-inch": (62, "inch"),
    "1h30m": (90, "min"),
    "3m30s": (210, "s"),
    "two mil": (2, "thou"),
    "5 thou": (5, "thou"),
    "3-minute": (3, "min"),
    "110 V": (110, "V"),
    "15 amps": (15, "A"),
    "1.5 %": (1.5, "percent"),
}


@pytest.mark.parametrize(("text", "expected"), ONE.items())
def test_whole_text_is_one_quantity(text: str, expected: tuple[float, str]) -> None:
    found = [(q.value, q.unit, q.start, q.end) for q in find_quantities(text)]
    assert found == [(pytest.approx(expected[0]), expected[1], 0, len(text))]


MANY = {
    "between 170 and 175 degC": [(170, "degC"), (175, "degC")],
    "170-175 °C": [(170, "degC"), (175, "degC")],
    "10 to 12 mm": [(10, "mm"), (12, "mm")],
    "12mm-15mm": [(12, "mm"), (15, "mm")],
    "172/168 °C": [(172, "degC"), (168, "degC")],
    "70 x 2 mm": [(70, "mm"), (2, "mm")],
    "110 V, 15 A": [(110, "V"), (15, "A")],
    "3 minutes at 172 degrees Celsius": [(3, "min"), (172, "degC")],
    "thirty-second dwell, thirty two psi": [(30, "s"), (32, "psi")],
}


@pytest.mark.parametrize(("text", "expected"), MANY.items())
def test_several(text: str, expected: list[tuple[float, str]]) -> None:
    assert [(q.value, q.unit) for q in find_quantities(text)] == expected


@pytest.mark.parametrize(
    "text",
    [
        "",
        "seven fingers",
        "2 in the morning",
        "the second splice",
        "splice one second run",
        "wait a second",
        "on 2026-11-25",
        "template T30-10",
        "we ran it at 5 metres per minute",
        "at this point in time",
        "a bar of soap",
        "5 × 10^5 Pa",
        "3k psi",
    ],
)
def test_none(text: str) -> None:
    assert find_quantities(text) == ()


def test_offsets_are_of_the_quantity_alone() -> None:
    text = "Pressure was 2.25 bar, approx."
    (found,) = find_quantities(text)
    assert text[found.start : found.end] == "2.25 bar"


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=120))
def test_any_text(text: str) -> None:
    end = 0
    for found in find_quantities(text):
        assert end <= found.start < found.end <= len(text)
        assert found.unit in UNITS
        end = found.end
