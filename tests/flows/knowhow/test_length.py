"""Typed amounts to a length: any unit of length, nothing guessed, one clear error."""

from __future__ import annotations

import math

import pytest

from recorder.errors import BadGeometry, BadValue, SeamnoteError, UnknownUnit, WrongUse
from recorder.flows.knowhow.length import elongation, typed
from recorder.model.belt import Belt
from recorder.model.length import Drive

DRIVE = {"pulley_1": "200 mm", "pulley_2": "12 cm", "centres": "1.5 m"}
FINGER = {"splice_type": "finger", "finger_length": "80 mm"}


def test_every_unit_tells_the_same() -> None:
    inches = {
        "pulley_1": "7.87401574803 in",
        "pulley_2": "0.393700787402 ft",
        "centres": "1500 mm",
    }
    assert typed(inches).length.endless == pytest.approx(typed(DRIVE).length.endless, rel=1e-10)


def test_all_of_it() -> None:
    more = {"thickness": "2 mm", "take_up": "-5 mm", "trim": "20 mm", "elongation": "1 %"}
    found = typed(DRIVE | FINGER | more | {"mark_spacing": "2 m"})
    assert found.length.drive == Drive(pulley_1=200, pulley_2=120, centres=1500, thickness=2)
    assert found.length.joined == pytest.approx((found.length.endless - 5) / 1.01)
    assert found.length.cut == pytest.approx(found.length.joined + 80 + 40)
    assert found.length.mark_tensioned == pytest.approx(2020)
    assert found.missing == ()
    assert found.assumed == (
        "the belt's length is that along the middle of its thickness",
        "the ends reach into one another by the length of a finger",
    )


def test_belt_and_drive_stand_in_for_what_is_not_told() -> None:
    belt = Belt(belt_thickness=2, splice_type="finger", finger_length=80)
    drive = Drive(pulley_1=200, pulley_2=120, centres=1500, thickness=2)
    assert typed({}, belt, drive) == typed(DRIVE | FINGER | {"thickness": "2 mm"})
    assert typed({"thickness": "3 mm"}, belt, drive).length.drive == drive.model_copy(
        update={"thickness": 3.0}
    )
    assert typed({"splice_type": "butt"}, belt, drive).length.allowances.fingers == 0


@pytest.mark.parametrize(
    ("told", "missing"),
    [
        ({}, "splice_type"),
        ({"splice_type": "finger"}, "finger_length"),
        ({"splice_type": "double finger", "finger_length": "30 mm"}, "overlap"),
        ({"splice_type": "overlap"}, "overlap"),
    ],
)
def test_what_the_ends_need_is_asked(told: dict[str, str], missing: str) -> None:
    found = typed(DRIVE | told)
    assert found.missing == (missing,)
    assert found.length.joined == found.length.endless
    assert typed(DRIVE | told | {"overlap": "60 mm"}).missing == ()


def test_a_length_tells_where_the_axes_stand() -> None:
    worked = typed(DRIVE | {"thickness": "2 mm"})
    told = {key: DRIVE[key] for key in ("pulley_1", "pulley_2")}
    back = typed(told | {"thickness": "2 mm", "length": f"{worked.length.endless:.9f} mm"})
    assert back.centres
    assert back.centres.exact == pytest.approx(1500)
    assert back.length.drive
    assert back.length.drive.centres == back.centres.exact
    assert back.length.endless == pytest.approx(worked.length.endless)


def test_a_measured_belt_needs_no_pulleys_and_does_not_take_those_of_the_list_amiss() -> None:
    alone = typed({"length": "5 m"} | FINGER)
    assert (alone.length.drive, alone.length.punched) == (None, 5080)
    listed = Drive(pulley_1=200, pulley_2=120, centres=9999)
    found = typed({"length": "5 m"}, drive=listed)
    assert found.length.endless == pytest.approx(5000)
    assert found.centres


def test_usual_marks_are_round_in_inches_too() -> None:
    assert typed(DRIVE, inches=True).length.mark_spacing == pytest.approx(40 * 25.4)
    assert typed(DRIVE).length.mark_spacing == 1000


BAD: list[tuple[dict[str, str], type[SeamnoteError], str]] = [
    ({}, WrongUse, "give both pulleys and the distance of their axes"),
    ({"pulley_1": "8 in"}, WrongUse, "give both pulleys and the distance"),
    ({"pulley_1": "8 in", "length": "9 m"}, WrongUse, "give both pulleys, or none"),
    (DRIVE | {"length": "9 m"}, WrongUse, "give one of them"),
    (DRIVE | {"speed": "9 m"}, WrongUse, "there is no 'speed'; use pulley_1"),
    (DRIVE | {"centres": "1500"}, BadValue, "say the unit too"),
    (DRIVE | {"centres": "1500 bar"}, UnknownUnit, "'bar' is not a unit"),
    (DRIVE | {"trim": "-5 mm"}, BadValue, "it cannot be negative"),
    (DRIVE | {"pulley_2": "0 mm"}, BadValue, "it must be above zero"),
    (DRIVE | {"splice_type": "glued"}, BadValue, "use one of finger"),
    (DRIVE | {"centres": "16 cm"}, BadGeometry, "pulleys of 200 mm and 120 mm touch"),
    (DRIVE | {"take_up": "-9 m"}, BadGeometry, "leaves nothing"),
    (DRIVE | {"mark_spacing": "9 m"}, BadGeometry, "tension marks 9000 mm apart do not fit"),
    ({"pulley_1": "2 m", "pulley_2": "2 m", "length": "9 m"}, BadGeometry,
     "a belt of 9000.0 mm is too short: where these pulleys touch, it is 10283.2 mm"),
]  # fmt: skip


@pytest.mark.parametrize(("told", "kind", "why"), BAD)
def test_what_cannot_be_is_told(told: dict[str, str], kind: type[SeamnoteError], why: str) -> None:
    with pytest.raises(kind, match=why):
        typed(told)


def test_elongation_from_marks_in_two_units() -> None:
    assert elongation("1 m", "1012 mm") == pytest.approx(1.2)
    assert elongation("40 in", "40 1/2 in") == pytest.approx(1.25)
    with pytest.raises(BadValue, match="measure from mark to mark"):
        elongation("0 mm", "1 m")
    with pytest.raises(BadValue, match="say the unit too"):
        elongation("1000", "1012")


def test_equal_pulleys_by_hand() -> None:
    found = typed({"pulley_1": "100 mm", "pulley_2": "100 mm", "centres": "1 m"})
    assert found.length.endless == pytest.approx(2000 + 100 * math.pi)
    assert "no thickness was told" in found.assumed[0]
