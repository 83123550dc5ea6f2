"""The list of customers' conveyors: taken whole or not at all, and each fault has its place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.firm.conveyors import conveyors, take
from recorder.errors import BadFirmFile
from recorder.model.belt import Belt
from recorder.model.inventory import Conveyor
from recorder.model.length import Drive
from tests.archive.firm.lists import CONVEYOR_TABLE, CONVEYORS, written


def any_drive(drive: Drive) -> None:
    """Where the pulleys are another's business."""


def far_apart(drive: Drive) -> None:
    if drive.centres < 100:
        raise ValueError("they touch")


def test_belt_pulleys_and_names(home: Home, tmp_path: Path) -> None:
    assert conveyors(home) == ()
    taken = take(home, written(tmp_path, "conveyors.toml", CONVEYORS), far_apart)
    assert taken.before == ()
    assert conveyors(home) == taken.now == (
        Conveyor(
            customer="Larkfield Bakery", site="Packing hall 2", name="Oven outfeed 3",
            belt=Belt(
                belt_material="TPU CV-120A", belt_thickness=2, belt_width=450,
                guide_profile="flat", splice_type="finger", finger_length=30, finger_pitch=10,
            ),
            drive=Drive(pulley_1=120, pulley_2=80, centres=4250, thickness=2),
            press="Press 2", template="T30-10", note="narrow gangway",
        ),
        Conveyor(customer="Veldt Sugar", name="Oven outfeed 3"),
    )  # fmt: skip
    assert home.conveyors.read_text() == CONVEYORS


def test_a_table_tells_the_same(home: Home, tmp_path: Path) -> None:
    take(home, written(tmp_path, "old.toml", CONVEYORS), any_drive)
    taken = take(home, written(tmp_path, "conveyors.csv", CONVEYOR_TABLE), far_apart)
    assert taken.before
    assert taken.now == conveyors(home)
    outfeed, infeed = taken.now
    assert outfeed.belt == Belt(belt_width=457.2)
    assert outfeed.drive == Drive(pulley_1=120, pulley_2=80, centres=4250)
    assert outfeed.note == 'says "slow" on it'
    assert infeed == Conveyor(customer="Larkfield Bakery", name="Slicer infeed")
    assert home.root.joinpath("conveyors.toml.before").read_text() == CONVEYORS


ONE = '[[conveyor]]\ncustomer = "Crann Salt"\nname = "Weigher"\n'
BAD = [
    ("", "there is no [[conveyor]] in it"),
    ("[[belt]]\n", "'belt' is no [[conveyor]]"),
    ('[[conveyor]]\nname = "Weigher"\n', "conveyor 1 (Weigher): customer is missing"),
    ('[[conveyor]]\ncustomer = "Crann Salt"\n', "conveyor 1: name is missing"),
    (ONE + ONE.replace("Weigher", "WEIGHER"),
     "conveyor 2 (WEIGHER): customer, site and name is the same as in conveyor 1"),
    (ONE + 'pulley_1 = "80 mm"\ncentres = "1 m"\n', "pulley_2 is missing, without which no drive"),
    (ONE + 'pulley_1 = "80 mm"\n', "pulley_2 and centres is missing"),
    (ONE + 'pulley_1 = "8"\n', "conveyor 1 (Weigher): pulley_1: 8 has no unit"),
    (ONE + 'pulley_1 = "8 mm"\npulley_2 = "8 mm"\ncentres = "9 mm"\n',
     "conveyor 1 (Weigher): they touch"),
    (ONE + 'belt_width = "0 mm"\n', "belt_width: '0 mm' must be above zero"),
    (ONE + 'speed = "1 m"\n', "there is no 'speed'; use customer, site, name, belt_material"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "detail"), BAD)
def test_a_fault_is_told_with_its_entry_and_nothing_is_kept(
    home: Home, tmp_path: Path, content: str, detail: str
) -> None:
    take(home, written(tmp_path, "old.toml", CONVEYORS), any_drive)
    with pytest.raises(BadFirmFile, match=re.escape(detail)):
        take(home, written(tmp_path, "new.toml", content), far_apart)
    assert home.conveyors.read_text() == CONVEYORS
    assert not home.root.joinpath("conveyors.toml.before").exists()
