"""Check values of common practice, no source: a press run on a narrow thermoplastic belt.

1.5 to 2 bar, 175 to 180 degC on both platens, 3.5 to 4 minutes of dwell, cool-down to 70 degC, on
a single-phase supply of 110 V and 15 A. However it is said, it must be understood, be clear, and
lie inside every plausible range.
"""

from __future__ import annotations

import itertools

import pytest

from recorder.model.fields import FIELDS
from recorder.model.reading import Standing
from tests.notes.telling import Value, states

Run = dict[str, Value]

PRESSURE = {
    "Pressure one point five bar.": 1.5,
    "One and a half bar of clamping pressure.": 1.5,
    "Pressure's set at one point five.": 1.5,
    "We ran it at one point seven five bar.": 1.75,
    "I pumped it up to two bar.": 2.0,
    "Two bar on the gauge.": 2.0,
    "Pressed at two bar.": 2.0,
    "Pressure started at one and a half bar and ended up at two bar.": 2.0,
    "They asked for two and a half bar pressure, I used two bar.": 2.0,
    "Pressure two point two bar. No, make that two bar.": 2.0,
    "Pressure 1.5 bar.": 1.5,
    "Pressure is twenty nine psi.": 1.9995,
    "Pressure a hundred and eighty kilopascals.": 1.8,
    "Pressure fifteen hundred millibar.": 1.5,
}

PLATENS = {
    "Both platens at one seventy five.": (175.0, 175.0),
    "One eighty top and bottom.": (180.0, 180.0),
    "Top and bottom both one hundred and seventy eight degrees.": (178.0, 178.0),
    "Top one seventy five, same for the bottom.": (175.0, 175.0),
    "Top plate one eighty, bottom same as top.": (180.0, 180.0),
    "Top platen one seven six. Bottom likewise.": (176.0, 176.0),
    "Bottom is the same as the top. The top is one seventy seven.": (177.0, 177.0),
    "Top one eighty, bottom one seventy five.": (180.0, 175.0),
    "One seventy nine on top and one seventy six on the bottom.": (179.0, 176.0),
    "Upper plate a hundred and eighty, lower plate a hundred and seventy seven.": (180.0, 177.0),
    "Target top one eighty, actual one seventy eight. Bottom one seventy seven.": (178.0, 177.0),
    "Top was one seventy five but now one seventy eight. Bottom one seventy six.": (178.0, 176.0),
    "Top started at one seventy, ended up at one seventy five. Bottom the same.": (175.0, 175.0),
    "Running the plates at one eighty top, one seventy eight bottom.": (180.0, 178.0),
    "Platens both one seventy five degrees Celsius.": (175.0, 175.0),
    "Top plate 180 °C, bottom plate 175 °C.": (180.0, 175.0),
    "Both plates three fifty Fahrenheit.": (176.6667, 176.6667),
}

DWELL = {
    "Dwell three and a half minutes.": 210.0,
    "Dwell time was four minutes.": 240.0,
    "It dwelled for three minutes thirty.": 210.0,
    "Held under pressure for four minutes.": 240.0,
    "Dwell two hundred and ten seconds.": 210.0,
    "A four minute dwell.": 240.0,
    "Soaked for three minutes forty five.": 225.0,
    "Dwell three minutes, no, three and a half minutes.": 210.0,
    "The recipe says three minutes of dwell, I gave it four minutes.": 240.0,
    "Dwell: 3:30.": 210.0,
}

COOL_DOWN = {
    "Cool down to seventy degrees Celsius.": 70.0,
    "Cooled to seventy.": 70.0,
    "Opened the press at seventy.": 70.0,
    "Let it cool to seventy before opening.": 70.0,
    "Came down to seventy degrees before I opened it.": 70.0,
    "Opening temperature seventy degrees.": 70.0,
    "Cool-down temperature 70 °C.": 70.0,
    "Cooling finished at seventy.": 70.0,
}

SUPPLY = [
    "Supply is single phase, a hundred and ten volts, fifteen amps.",
    "Single phase, one ten volts, fifteen amps.",
    "Plugged into a hundred and ten volt, fifteen amp, single phase.",
    "One hundred ten volts single phase on a fifteen amp breaker.",
    "Power: 110 V, 15 A, one phase.",
    "Supply voltage a hundred and ten volts, supply current fifteen amps, single phase.",
]

IN_ONE_BREATH: dict[str, tuple[float, float, float, float, float]] = {
    "Pressure two bar, top one eighty, bottom one seventy five, dwell four minutes, cool to "
    "seventy.": (2.0, 180.0, 175.0, 240.0, 70.0),
    "Two bar, one eighty top, one seventy five bottom, four minutes, cooled to seventy.": (
        *(2.0, 180.0, 175.0, 240.0, 70.0),
    ),
    "One point five bar, both plates one seventy five, dwell three and a half minutes, opened at "
    "seventy.": (1.5, 175.0, 175.0, 210.0, 70.0),
    "Top one seventy eight, bottom one seventy six, one point eight bar, three and a half minutes "
    "dwell, cool down seventy.": (1.8, 178.0, 176.0, 210.0, 70.0),
    "We used two bar pressure, one eighty top and bottom, four minutes of dwell and cooled it to "
    "seventy degrees.": (2.0, 180.0, 180.0, 240.0, 70.0),
    "Settings: pressure 1.5 bar, top 175, bottom 175, dwell 3.5 min, cool-down 70 °C.": (
        *(1.5, 175.0, 175.0, 210.0, 70.0),
    ),
}


def _run(pressure: float, top: float, bottom: float, dwell_s: float, cool: float) -> Run:
    return {
        "pressure": pressure,
        "top_temperature": top,
        "bottom_temperature": bottom,
        "dwell_time": dwell_s,
        "cool_down_temperature": cool,
    }


def _told(text: str) -> Run:
    """Values of a narration, all of which must be clear and plausible."""
    found = states(text)
    assert [name for name, (_, standing) in found.items() if standing is not Standing.CLEAR] == []
    for name, (value, _) in found.items():
        low, high = FIELDS[name].plausible or (value, value)
        assert low <= value <= high  # type: ignore[operator]
    return {name: value for name, (value, _) in found.items()}


@pytest.mark.parametrize(("text", "bar"), PRESSURE.items())
def test_pressure(text: str, bar: float) -> None:
    assert _told(text) == {"pressure": pytest.approx(bar, abs=1e-3)}


@pytest.mark.parametrize(("text", "degc"), PLATENS.items())
def test_platens(text: str, degc: tuple[float, float]) -> None:
    top, bottom = degc
    assert _told(text) == {"top_temperature": top, "bottom_temperature": bottom}


@pytest.mark.parametrize(("text", "dwell_s"), DWELL.items())
def test_dwell(text: str, dwell_s: float) -> None:
    assert _told(text) == {"dwell_time": dwell_s}


@pytest.mark.parametrize(("text", "degc"), COOL_DOWN.items())
def test_cool_down(text: str, degc: float) -> None:
    assert _told(text) == {"cool_down_temperature": degc}


@pytest.mark.parametrize("text", SUPPLY)
def test_supply(text: str) -> None:
    assert _told(text) == {"supply_voltage": 110.0, "supply_current": 15.0, "supply_phases": 1.0}


@pytest.mark.parametrize(("text", "run"), IN_ONE_BREATH.items())
def test_in_one_breath(text: str, run: tuple[float, float, float, float, float]) -> None:
    assert _told(text) == _run(*run)


def test_every_way_beside_every_other() -> None:
    """Sentences that are understood alone are understood in one narration."""
    ways = itertools.zip_longest(PRESSURE, PLATENS, DWELL, COOL_DOWN)
    first = [next(iter(table)) for table in (PRESSURE, PLATENS, DWELL, COOL_DOWN)]
    for sentences in ways:
        pressure, platens, dwell, cool = (
            told or default for told, default in zip(sentences, first, strict=True)
        )
        expected = _run(PRESSURE[pressure], *PLATENS[platens], DWELL[dwell], COOL_DOWN[cool])
        found = _told("\n".join((pressure, platens, dwell, cool)))
        assert found == pytest.approx(expected, abs=1e-3)
