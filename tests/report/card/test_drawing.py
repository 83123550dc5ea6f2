"""The drawing of what is cut: its numbers, and its ends."""

from xml.etree import ElementTree

import pytest

from recorder.knowhow.preparing import length as lengths
from recorder.model.length import Allowances, BeltLength, Drive
from recorder.report.card import drawing

SVG = "{http://www.w3.org/2000/svg}"
DRIVE = Drive(pulley_1=250, pulley_2=200, centres=4200, thickness=2)


def worked(**allowances: float) -> BeltLength:
    return lengths.belt_length(DRIVE, Allowances(**allowances), elongation=0.8)


def corners(svg: str) -> list[tuple[float, float]]:
    (belt,) = ElementTree.fromstring(svg).iter(f"{SVG}polygon")
    return [(float(x), float(y)) for x, y in (p.split(",") for p in belt.attrib["points"].split())]


def test_it_names_both_cut_lengths_and_both_distances_of_the_marks() -> None:
    belt = worked(fingers=80, trim=20)
    told = " ".join(ElementTree.fromstring(drawing.svg(belt, True, {})).itertext())
    for mm in (belt.cut, belt.punched, belt.mark_tensioned):
        assert mm is not None
        assert f"{mm:.1f}".removesuffix(".0") in told
        assert f"{mm:.1f}".removesuffix(".0") in drawing.told(belt, {})
    assert "1000 mm" in told


def test_fingers_of_one_end_lie_in_the_gaps_of_the_other() -> None:
    ends = corners(drawing.svg(worked(fingers=80), True, {}))
    middle = drawing._SIZE[0] / 2
    left = {y: x for x, y in ends if x < middle}
    right = {y: x for x, y in ends if x > middle}
    assert left.keys() == right.keys()
    reach = {round(right[y] - left[y]) for y in left}
    assert len(reach) == 1, "so that pushed together both ends touch everywhere"


def test_an_end_without_fingers_is_straight() -> None:
    assert len(corners(drawing.svg(worked(), False, {}))) == 4


@pytest.mark.parametrize(("unit", "shown"), [("inch", " in)"), ("foot", " ft)"), ("mm", " mm")])
def test_lengths_stand_in_the_customer_s_unit_too(unit: str, shown: str) -> None:
    assert shown in drawing.told(worked(), {"length": unit})
    assert (" in)" in drawing.told(worked(), {"length": "mm"})) is False
