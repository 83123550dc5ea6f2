"""A narration of ten minutes: two splices, small talk, corrections, and the whole form of it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from recorder.model.job import in_force
from recorder.model.reading import Reading, Standing
from tests.notes.telling import told

TEXT = Path(__file__).with_name("ten_minutes.txt").read_text(encoding="utf-8")

JOB = {
    "job_number": "5219",
    "customer": "Harrowfield Biscuits",
    "site": "Moss Lane bakery",
    "conveyor": "cooling line number two",
    "technician": "Petra Aldous",
    "arrived_at": "07:10",
    "left_at": "12:20",
    "supply_voltage": 110,
    "supply_current": 15,
    "supply_phases": 1,
    "belt_material": "polyurethane",
    "belt_serial": "88417",
    "belt_width": 450,
    "belt_thickness": 2.3,
    "guide_profile": "flat",
    "press": "4",
    "isolation_confirmed": True,
    "ambient_temperature": 11,
    "tension_mark_before": 1000,
    "tension_mark_after": 1006,
    "elongation": 0.6,
    "test_run": "ok",
    "materials": "one bottle of cleaning alcohol and two strips of release film",
    "next_check": "in three months",
}
FIRST = {
    "splice_type": "finger",
    "finger_length": 80,
    "finger_pitch": 10,
    "pressure": 1.8,
    "preheat_temperature": 100,
    "preheat_time": 120,
    "top_temperature": 176,
    "bottom_temperature": 173,
    "dwell_time": 210,
    "cool_down_temperature": 70,
    "cycle_time": 840,
    "bubbles": True,
    "finger_gap": 0.7,
    "outcome": "rejected",
}
SECOND = {
    "pressure": 2,
    "top_temperature": 178,
    "bottom_temperature": 178,
    "dwell_time": 240,
    "cool_down_temperature": 65,
    "cycle_time": 960,
    "bubbles": False,
    "finger_gap": 0.15,
    "splice_width": 450.5,
    "edge_offset": 0.5,
    "outcome": "accepted",
}
# They are kept as the place of what follows.
MOVES = {"Right, first splice.", "Second splice."}
# Told as tight before the press, and measured after it.
ASKED = {"finger_gap"}


@pytest.mark.parametrize(("splice", "form"), [(1, FIRST), (2, SECOND)])
def test_the_whole_form(splice: int, form: dict[str, bool | float | str]) -> None:
    readings = in_force(told(TEXT).readings, splice, 1)
    assert {name: _value(reading) for name, reading in readings.items()} == {**JOB, **form}


def _value(reading: Reading) -> bool | float | str:
    return round(reading.value, 6) if type(reading.value) is float else reading.value


def test_only_the_gap_told_twice_is_asked() -> None:
    readings = told(TEXT).readings
    for splice in (1, 2):
        doubtful = {
            name
            for name, reading in in_force(readings, splice, 1).items()
            if reading.standing is Standing.DOUBTFUL
        }
        assert doubtful == (ASKED if splice == 1 else set())


@pytest.mark.parametrize(
    "talk",
    [
        "The old belt was only two millimetres and four hundred and forty wide",
        "While that's cooking, the baker was telling me they used to get five years",
        "Last time somebody ran it at one ninety and burnt it",
        "The press reads ninety, eighty five, it takes its time.",
        "That costs us a hundred millimetres of belt",
        "Dried both ends for ten minutes with the hot air",
        "That's four minutes up.",
        "And two fingers are open in the middle.",
        "The sheet says two bar,",
        "ran it empty for fifteen minutes",
    ],
)
def test_what_is_no_value_stays_a_note(talk: str) -> None:
    assert any(talk in note.text for note in told(TEXT).notes)


def test_no_sentence_is_dropped() -> None:
    extraction = told(TEXT)
    kept = [note.text for note in extraction.notes]
    kept += [r.evidence.said for r in extraction.readings if r.evidence.source == "spoken"]
    for sentence in set(re.split(r"(?<=[.?])\s+", TEXT.strip())) - MOVES:
        assert any(words in sentence for words in kept), sentence
