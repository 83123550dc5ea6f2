"""Numbers that are told and were not used, not reached, or belong to something else."""

from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from tests.notes.telling import states, told

ONLY_NOTES = [
    # Times of day and moments.
    "Started dwell at 10:05.",
    "Dwell from 10:05 to 10:09.",
    "Dwell began 10:05.",
    "One minute into the dwell.",
    "One minute after the dwell.",
    "Added thirty seconds of dwell.",
    "We skipped the dwell of three minutes.",
    # Not reached.
    "Neither top nor bottom reached 175 degrees.",
    "Neither the top, nor the bottom reached 175 degrees.",
    "Top and bottom did not reach 175 degrees.",
    "The top was nowhere near 175 degrees.",
    "Top failed to reach 175 degrees.",
    "Waiting for top to get to 175 C.",
    "Top is heating to 175 C.",
    # Advice.
    "The belt maker recommends top 185 C.",
    "Alarm at 190 C on the top platen.",
    # Other things.
    "Press width 300 mm.",
    "Pulley width 80 mm.",
    "The pulley's width 80 mm.",
    "Top cover thickness 0.5 mm.",
    "Tyre pressure of the forklift is 2.4 bar.",
]


@pytest.mark.parametrize("text", ONLY_NOTES)
def test_makes_a_note_and_no_reading(text: str) -> None:
    heard = told(text)
    assert heard.readings == ()
    assert [note.text for note in heard.notes] == [text]


@pytest.mark.parametrize(
    "text",
    [
        "Data sheet: top 185 C, dwell 3 min.",
        "Setpoint 180 C top, actual 176 C.",
        "Top set to 180 C, reads 176 C.",
        "Left side thickness 2.1 mm, right side 1.9 mm.",
        "Top platen: left zone 174 C, right zone 178 C.",
    ],
)
def test_is_asked(text: str) -> None:
    found = states(text)
    assert found
    assert all(standing is Standing.DOUBTFUL for _, standing in found.values())


PLAIN = {
    "Dwell time was 3:30.": ("dwell_time", 210.0),
    "No alarm, top 172 C.": ("top_temperature", 172.0),
    "Cooled down to 55 degrees C before opening.": ("cool_down_temperature", 55.0),
    "The splice in the press: pressure 2.2 bar.": ("pressure", 2.2),
    "Splice width 70 mm.": ("splice_width", 70.0),
    "Width after pressing 70.4 mm.": ("splice_width", 70.4),
}


@pytest.mark.parametrize(("text", "expected"), PLAIN.items())
def test_what_is_told_beside_them_stays_clear(text: str, expected: tuple[str, float]) -> None:
    assert states(text) == {expected[0]: (expected[1], Standing.CLEAR)}
