"""What speaks against a press and a template that were chosen."""

from __future__ import annotations

from datetime import date

import pytest

from recorder.knowhow.preparing.fitting import proposal
from recorder.knowhow.preparing.suiting import unsuited
from recorder.model.belt import Belt
from recorder.model.inventory import Inventory, Press, Template

OWNED = Inventory(
    presses=(Press(name="P 600", platen_width=650, platen_length=120, top=200, pressure=2.5),),
    templates=(Template(name="T30", splice_type="finger", finger_length=30, width=(60, 600)),),
)
BELT = Belt(belt_width=600, splice_type="finger", finger_length=30)
SETTINGS = {"top_temperature": 200.0, "pressure": 2.5, "dwell_time": 9999.0}


def told(
    belt: Belt = BELT,
    press: str | None = "p  600",
    template: str | None = "t30",
    settings: dict[str, float] = SETTINGS,
) -> tuple[str, ...]:
    proposed = proposal(belt, OWNED, {}, date(2026, 11, 26))
    return unsuited(belt, settings, OWNED, proposed, press, template)


def test_up_to_what_they_take_nothing_speaks_against_them() -> None:
    assert told() == ()


@pytest.mark.parametrize(
    ("belt", "asked", "reason"),
    [
        ({"belt_width": 700.0}, {}, "press: P 600 takes 650 mm across, the belt has 700 mm"),
        ({"finger_length": 130.0}, {},
         "press: P 600 takes 120 mm along the belt, the fingers are 130 mm"),
        ({}, {"top_temperature": 204.4},
         "press: P 600 goes to 200 °C, asked for is top platen 204 °C"),
        ({}, {"pressure": 3.0}, "press: P 600 goes to 2.5 bar, asked for is pressure 3 bar"),
        ({"belt_width": 610.0}, {},
         "template: T30 does not fit, takes 60 mm to 600 mm of width, the belt has 610 mm"),
    ],
)  # fmt: skip
def test_what_is_beyond_them_is_told(
    belt: dict[str, float], asked: dict[str, float], reason: str
) -> None:
    assert reason in told(BELT.model_copy(update=belt), settings=SETTINGS | asked)


def test_of_what_is_not_chosen_or_not_listed_nothing_is_told() -> None:
    wide = BELT.model_copy(update={"belt_width": 900.0})
    assert told(wide, press=None, template=None) == ()
    assert told(wide, press="P 900", template="T80") == ()
    assert told(Belt()) == ()
