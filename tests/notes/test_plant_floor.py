"""Narrations as people talk on a loud plant floor, and as small recognisers write them.

Each was wrong and clear once. The value in force must now be asked about, or not be read at all.
"""

from __future__ import annotations

import pytest

from recorder.model.reading import Standing
from tests.notes.telling import states, told

NOT_CLEAR = [
    # Numbers that a recogniser split, or digits written as words.
    "Top platen 100. And 87 degrees Celsius.",
    "Top, one hundred. Seventy two.",
    "Bottom platen 160. Eight degrees Celsius.",
    "Top platen 170 to degrees Celsius.",
    "Top platen 170, too degrees Celsius.",
    "Pressure at 4 to bar.",
    "Pressure is to point eight bar.",
    # Minutes and seconds.
    "Dwell 3.30 minutes.",
    "Dwell 3 30.",
    "Dwell three minutes thirty instead of three.",
    "Dwell three minutes and then another thirty seconds.",
    "Dwell was three minutes, plus thirty seconds more.",
    # Two values of one kind in a sentence.
    "Top platen set 172, reads 169 Celsius.",
    "Top platen set to 172 but only got 165 Celsius.",
    "Top platen is hotter than the bottom, 172 Celsius against 168 Celsius.",
    # On the way, or not for long.
    "Heating up, top platen at 120 Celsius.",
    "Top platen climbing, 150 Celsius now.",
    "Top platen passing 160 Celsius.",
    "Top platen 172 Celsius and rising.",
    "Top platen overshoot to 180 Celsius, settled at 172 Celsius.",
    "The pressure fell to 1.5 bar for a moment.",
    # Plans, denials, guesses, hearsay.
    "On the next one we will use 2.5 bar pressure.",
    "We'll try 2.5 bar pressure next.",
    "I am going to set the pressure to 2.5 bar.",
    "Going for 175 Celsius on the top platen.",
    "Top platen didn't reach 172 Celsius.",
    "There's no way it is 2.2 bar pressure.",
    "Almost 2.2 bar pressure.",
    "Nearly three minutes dwell.",
    "Not sure but dwell four minutes.",
    "The customer wanted 3 bar pressure.",
    "The customer says 3 bar pressure is fine.",
    "He said top platen 172 Celsius.",
    "Jan told me to take dwell four minutes.",
    # Something else than this splice.
    "On the other belt we had dwell four minutes.",
    "On Tuesday's job the dwell was four minutes.",
    "Pressure same as yesterday, 2 bar.",
    "Two splices, both at 172 Celsius top.",
    "Preheat top platen 120 Celsius.",
    # A point, a unit or a correction that went missing.
    "Pressure 22.",
    "Thickness two five millimetres.",
    "Pressure two bar. Two point two, sorry.",
    "Dwell three minutes, I said two.",
    "Top one seventy two bottom the same minus four.",
]


@pytest.mark.parametrize("text", NOT_CLEAR)
def test_no_number_of_it_is_clear(text: str) -> None:
    assert [s for s in states(text).items() if s[1][1] is Standing.CLEAR] == []


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("Top platen 100. And 87 degrees Celsius.", 187.0),
        ("Bottom platen 160. Eight degrees Celsius.", 168.0),
        ("Dwell 3 30.", 210.0),
    ],
)
def test_what_was_split_is_offered_whole(text: str, value: float) -> None:
    last = told(text).readings[-1]
    assert (last.value, last.standing) == (value, Standing.DOUBTFUL)


CLEAR = {
    "Top platen was 160 Celsius before I turned it up to 172 Celsius.": {"top_temperature": 172},
    "Top 172 C, bottom 168 C.": {"top_temperature": 172, "bottom_temperature": 168},
    "Top, 1 72. Bottom, 1 68.": {"top_temperature": 172, "bottom_temperature": 168},
    "Top platen 175. Degrees.": {"top_temperature": 175},
    "Top platen 172. Two fingers are open.": {"top_temperature": 172},
    "Top platen 170. Pressure 2.2 bar.": {"top_temperature": 170, "pressure": 2.2},
    "Pressure two and a half bar, dwell ninety seconds.": {"pressure": 2.5, "dwell_time": 90},
    "Dwell five and a half minutes, then we waited ten minutes.": {"dwell_time": 330},
    "Top 175 Celsius no 172 bottom 168.": {"top_temperature": 172, "bottom_temperature": 168},
    "Finger pitch ten millimetres, not twelve.": {"finger_pitch": 10},
}


@pytest.mark.parametrize(("text", "expected"), CLEAR.items())
def test_plain_ones_stay_clear(text: str, expected: dict[str, float]) -> None:
    assert states(text) == {name: (value, Standing.CLEAR) for name, value in expected.items()}
