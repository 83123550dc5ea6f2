"""Amounts told as a sum or a difference, in short fractions, with a tolerance, or run together."""

from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from recorder.notes.quantities import find_quantities
from tests.notes.telling import states

TOLD = {
    "Dwell three minutes less ten seconds.": ("dwell_time", 170.0),
    "Dwell three minutes minus ten seconds.": ("dwell_time", 170.0),
    "Dwell ten seconds short of three minutes.": ("dwell_time", 170.0),
    "Dwell three minutes plus ten seconds.": ("dwell_time", 190.0),
    "Dwell two and three quarter minutes.": ("dwell_time", 165.0),
    "Belt width two and three quarter inches.": ("belt_width", 69.85),
    "Belt thickness one and three quarter millimetres.": ("belt_thickness", 1.75),
}


@pytest.mark.parametrize(("text", "expected"), TOLD.items())
def test_one_value_of_several_parts(text: str, expected: tuple[str, float]) -> None:
    assert states(text) == {expected[0]: (expected[1], Standing.CLEAR)}


WRITTEN = {
    "–40°C": [(-40.0, "degC")],
    "at –5 °C.": [(-5.0, "degC")],
    "160–170 °C": [(160.0, "degC"), (170.0, "degC")],
    "5 mm –10 mm": [(5.0, "mm"), (10.0, "mm")],
    "1e999 mm": [],
    "1e-3 m": [(0.001, "m")],
    "70mmx2mm": [(70.0, "mm"), (2.0, "mm")],
    "70 x 2 mm": [(70.0, "mm"), (2.0, "mm")],
    "5. mm": [(5.0, "mm")],
    "5 ± 0.1 mm": [(5.0, "mm"), (0.1, "mm")],
    "5 +/- 0.1 mm": [(5.0, "mm"), (0.1, "mm")],
    "a couple of minutes": [(2.0, "min")],
    "the seventy eighth inch": [],
    "350 µm": [(350.0, "um")],
}


@pytest.mark.parametrize(("text", "expected"), WRITTEN.items())
def test_as_written(text: str, expected: list[tuple[float, str]]) -> None:
    assert [(found.value, found.unit) for found in find_quantities(text)] == expected


def test_a_tolerance_is_not_the_value() -> None:
    assert states("Belt width 70 ± 0.7 mm.") == {"belt_width": (70.0, Standing.CLEAR)}
