from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.model.units import UNITS
from recorder.notes.quantities import find_quantities
from tests.notes.pace import cpu_s, usual_s

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
    "5 × 10^5 Pa": (5e5, "Pa"),
    "1.5·10⁷ K": (1.5e7, "kelvin"),
    "10^-6 m": (1e-6, "m"),
    "2.4 billion miles": (2.4e9, "mile"),
    "two point four million miles": (2.4e6, "mile"),
    "3k psi": (3000, "psi"),
    "172 deg. C": (172, "degC"),
    "172 C°": (172, "degC"),
    "400ºF": (400, "degF"),
    "172 Celsius degrees": (172, "degC"),
    "100-degree-Celsius": (100, "degC"),
    "34.9 centigrate": (34.9, "degC"),
    "five degrees below zero": (-5, "deg"),
    "+5 °C": (5, "degC"),
    "5 ft. 10 in": (70, "inch"),
    "6’ 4”": (76, "inch"),
    "5' 2''": (62, "inch"),
    "two metres sixty": (260, "cm"),
    "26 miles 385 yards": (46145, "yard"),
    "12 m 2 dm": (122, "dm"),
    "a mile and a half": (1.5, "mile"),
    "two-and-a-half metres": (2.5, "m"),
    "half a million miles": (5e5, "mile"),
    "1 billionth of a metre": (1e-9, "m"),
    "1'000 mm": (1000, "mm"),
    "1.2e-3m": (1.2e-3, "m"),
    "9.5 × 10**3 m": (9500, "m"),
    "1e20 × 10^5 m": (1e25, "m"),
    "5 foot 2 and a half": (62.5, "inch"),
    "1m75": (175, "cm"),
    "101 325 Pa": (101325, "Pa"),
    "3′ 20″": (200, "s"),
    "9-V": (9, "V"),
    "10 more minutes": (10, "min"),
    "an extra hour": (1, "hour"),
    "hour and a half": (1.5, "hour"),
    "1d 2h": (26, "hour"),
    "20 µm": (20, "um"),
    "forty microns": (40, "um"),
    "2.1 pm": (2.1, "pm"),
    "100 m": (100, "m"),
    "one week three days": (10, "day"),
    "3 years, 2 months": (38, "month"),
    "2 days, 3 hours, and 5 minutes": (3065, "min"),
    "1h05": (65, "min"),
    "1:30:00 hours": (1.5, "hour"),
    "all day": (1, "day"),
    "another minute": (1, "min"),
    "couple of weeks": (2, "week"),
    "half a year": (0.5, "year"),
    "P1DT2H": (93600, "s"),
    "760 mm Hg": (760, "mmHg"),
    "29.9 inches of mercury": (29.9, "inHg"),
    "6 kg/cm²": (6, "technical_atmosphere"),
    "985 hPa": (985, "hPa"),
    "11 kV": (11, "kV"),
    "20 mA": (20, "mA"),
    "24 VDC": (24, "V"),
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
    "8- to 16-metre": [(8, "m"), (16, "m")],
    "10°C-20°C": [(10, "degC"), (20, "degC")],
    "10 mm-15 mm": [(10, "mm"), (15, "mm")],
    "100 kPa-200 kPa": [(100, "kPa"), (200, "kPa")],
    "6-8 weeks": [(6, "week"), (8, "week")],
    "one-to-two-hour": [(1, "hour"), (2, "hour")],
    "from minus 10 to plus 5 degrees C": [(-10, "degC"), (5, "degC")],
    "10-3 m": [(10, "m"), (3, "m")],
    "2mx3m": [(2, "m"), (3, "m")],
    "12'x15'": [(12, "foot"), (15, "foot")],
    "using 10 A at 230 V": [(10, "A"), (230, "V")],
    "24 hours per day": [(24, "hour")],
    "75 -300mm": [(75, "mm"), (300, "mm")],
    "from - 20 to - 5 °C": [(-20, "degC"), (-5, "degC")],
    "two bars of pressure and 2.2 bar of clamping": [(2, "bar"), (2.2, "bar")],
    "12 ft 2 in more": [(146, "inch")],
    "in a week, or a year ago": [(1, "week"), (1, "year")],
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
        "we ran it at 5 metres per minute",
        "at this point in time",
        "a bar of soap",
        "template T30-10",
        "3k of them",
        "40 miles an hour",
        "50 km/ms",
        "190 km2",
        "24703m2",
        "20 m²",
        "4 km squared",
        "4e14 s-1",
        "50 foot-pounds",
        "50 amp hours",
        "3 bars of chocolate",
        "won 5 v 1",
        "the 80s and the 1970s",
        "at 2:00 pm",
        "at 2 pm",
        "object SCP 06F6",
        "order 24703m212",
        "scp-173 m",
        "twice a day",
        "the low 70s",
        "3d printing",
        "5 m/s²",
        "5 km/s2",
        "5 Nm",
        "5 ft·lbf",
        "a $5m deal",
        "a fraction of a second",
        "20 dollars an hour",
        "in a second",
        "have a nice day",
        "every day of the week",
        "1.8M people",
        "PT100",
        "5 × 10^500 Pa",
    ],
)
def test_none(text: str) -> None:
    assert find_quantities(text) == ()


def test_offsets_are_of_the_quantity_alone() -> None:
    text = "Pressure was 2.25 bar, approx."
    (found,) = find_quantities(text)
    assert text[found.start : found.end] == "2.25 bar"


PIECES = st.sampled_from(
    [
        *("a", "an", "one", "two", "twenty", "hundred", "million", "trillion", "and", "half"),
        *("third", "point", "minus", "of", "degrees", "below", "zero", "5", "10", "1/2", "½"),
        *("2.25", "1e3", "1e99", "1e300", "9999999999", "3:30", "PT5M", "10^", "10⁷", "×", "x"),
        *("-", "–", "+", "±", "/", "'", '"', "°", ".", ",", "(", ")", "k", "m", "h", "d", "s"),
        *("in", "ft", "feet", "km", "bars", "A", "V", "mA", "C", "F", "per", "all", "another"),
        *("couple", "days", "year", "second", "squared", "ago", "to", "between", "less", "short"),
    ]
)


@settings(max_examples=300, deadline=None)
@given(
    st.text(max_size=120)
    | st.lists(st.tuples(PIECES, st.sampled_from(["", " "])), max_size=40).map(
        lambda pairs: "".join(piece + blank for piece, blank in pairs)
    )
)
def test_any_text(text: str) -> None:
    end = 0
    for found in find_quantities(text):
        assert end <= found.start < found.end <= len(text)
        assert found.unit in UNITS
        assert math.isfinite(found.value)
        end = found.end


@pytest.mark.parametrize(
    "piece",
    [
        "the belt is 5 foot two and 172 °C for 3 min 30 s, between 5 and 10 mm. ",
        *("1 year ", "all day ", "1-", "5' ", "10^", "½", "a hundred and ", "5 deg. ", "1d2h"),
    ],
)
def test_time_grows_with_length_and_no_faster(piece: str) -> None:
    """100 kB in a second on an idle machine; three are allowed, because others run beside it."""
    short, long = ((piece * (n // len(piece.encode()) + 1))[:n] for n in (10_000, 100_000))
    assert usual_s(lambda: find_quantities(long), enough=3.0) < 3.0
    limit = 30 * max(cpu_s(lambda: find_quantities(short)), 0.01)
    assert cpu_s(lambda: find_quantities(long), enough=limit) < limit
