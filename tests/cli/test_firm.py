"""'seamnote inventory', 'conveyors' and 'length' as a person and as a program see them."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from recorder.archive.disk.home import Home
from recorder.cli import main
from tests.archive.firm.lists import CONVEYORS, written
from tests.cli.command import Ran

Run = Callable[..., Ran]
TODAY = date.today()
SOON = TODAY - timedelta(days=90)
LATE = TODAY - timedelta(days=236)
LIST = f"""\
[[press]]
name = "Press 2"
platen_width = "650 mm"
platen_length = "160 mm"
top = "220 degC"
last_check = {SOON}
check_days = 100

[[template]]
name = "T30-10"
splice_type = "finger"
finger_length = "30 mm"
guide_profiles = ["flat"]
width = "60 mm..600 mm"
last_check = {LATE}
check_days = 180

[[template]]
name = "Jig"
splice_type = "overlap"
note = "in the van"
"""


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def run(home: Home, capsys: pytest.CaptureFixture[str]) -> Run:
    def run(*arguments: str | Path) -> Ran:
        code = main([*map(str, arguments), "--home", str(home.root)])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return Ran(code, out, err)

    return run


@pytest.fixture
def listed(run: Run, tmp_path: Path) -> Run:
    assert run("inventory", "take", written(tmp_path, "list.toml", LIST)).code == 0
    assert run("conveyors", "take", written(tmp_path, "conveyors.toml", CONVEYORS)).code == 0
    return run


def test_the_inventory_tells_what_is_due(listed: Run) -> None:
    ran = listed("inventory", "list")
    assert ran.code == 4
    due, since = SOON + timedelta(days=100), LATE + timedelta(days=180)
    assert ran.out.splitlines() == [
        "Presses",
        "  Press 2  platen 650 mm x 160 mm, up to 220 °C",
        f"           last check {SOON}; due check on {due}, in 10 days",
        "Templates",
        "  T30-10   finger, fingers 30 mm, flat, 60 mm to 600 mm wide",
        f"           last check {LATE}; ! overdue for its check since {since}, 56 days",
        "  Jig      overlap, any profile",
        "           in the van",
    ]


def test_a_program_gets_each_thing_in_a_line(listed: Run) -> None:
    press, template, jig = listed("inventory", "list", "--json").objects
    assert (press["kind"], press["platen_width"], press["standing"]) == ("press", 650, "due")
    assert (template["standing"], template["overdue_days"]) == ("overdue", 56)
    assert template["width"] == [60, 600]
    assert (jig["standing"], jig["due"]) == (None, None)


def test_a_noted_check_ends_the_warning_until_it_is_withdrawn(listed: Run) -> None:
    assert listed("inventory", "checked", "t30-10").out == (
        f"T30-10: noted; next check on {TODAY + timedelta(days=180)}, in 180 days\n"
    )
    assert listed("inventory", "list").code == 0
    told = listed("inventory", "checked", "T30-10", "--withdraw", "--json").objects
    assert told[0]["overdue_days"] == 56
    assert listed("inventory", "list").code == 4
    assert listed("inventory", "checked", "Jig").out == (
        "Jig: noted; no interval for its checks is listed\n"
    )


def test_what_a_new_list_changes(listed: Run, tmp_path: Path) -> None:
    new = LIST.replace('name = "Jig"', 'name = "Jig 2"').replace('"650 mm"', '"700 mm"')
    assert listed("inventory", "take", written(tmp_path, "new.toml", new)).out.splitlines() == [
        "1 press: 1 changed",
        "2 templates: 1 new, gone: Jig",
    ]
    again = listed("inventory", "take", written(tmp_path, "new.toml", new), "--json")
    assert again.objects == [{"presses": 1, "templates": 2}]
    same = listed("conveyors", "take", written(tmp_path, "same.toml", CONVEYORS))
    assert same.out == "2 conveyors: as before\n"


def test_a_proposal_in_words_and_for_a_program(listed: Run) -> None:
    belt = ("belt_width=450mm", "guide_profile=flat", "splice_type=finger", "finger_length=30mm")
    ran = listed("inventory", "fit", *belt)
    assert ran.code == 4  # it is overdue
    assert ran.out.splitlines() == [
        "Belt: 450 mm wide, flat, finger, fingers 30 mm",
        "Take T30-10 (the only one that fits)",
        "  for finger splices",
        "  finger length 30 mm",
        "  for flat belts",
        "  takes 60 mm to 600 mm of width, the belt has 450 mm",
        f"  overdue for its check since {LATE + timedelta(days=180)}, 56 days",
        "Does not fit",
        "  Jig",
        "    for overlap splices, the job is finger",
    ]
    listed("inventory", "checked", "T30-10")
    ran = listed("inventory", "fit", *belt, "--json")
    assert ran.code == 0
    assert ran.objects[0]["best"]["template"]["name"] == "T30-10"
    unsure = listed("inventory", "fit", "splice_type=finger", "finger_length=30mm")
    assert unsure.code == 4
    assert "No proposal: T30-10 could fit; tell the guide profile and belt width" in unsure.out
    assert "    not told: guide profile, belt width" in unsure.out


def test_everything_in_the_units_of_the_firm(listed: Run) -> None:
    told = listed("inventory", "list", "--unit", "inch", "--unit", "degF").out
    assert "platen 25.591 in x 6.299 in, up to 428 °F" in told
    assert "2.362 in to 23.622 in wide" in told
    belt = ("belt_width=30in", "guide_profile=flat", "splice_type=finger", "finger_length=30mm")
    told = listed("inventory", "fit", *belt, "--unit", "inch").out
    assert "Belt: 30 in wide, flat, finger, fingers 1.181 in" in told
    assert "takes 2.362 in to 23.622 in of width, the belt has 30 in" in told
    told = listed("conveyors", "list", "--unit", "inch").out
    assert "pulleys 4.724 in and 3.15 in, axes 167.323 in apart" in told


def test_conveyors_of_one_customer(listed: Run) -> None:
    assert listed("conveyors", "list", "--customer", "larkfield bakery").out.splitlines() == [
        "Larkfield Bakery / Packing hall 2 / Oven outfeed 3",
        "  belt TPU CV-120A, 2 mm thick, 450 mm wide, flat, finger, fingers 30 mm, pitch 10 mm",
        "  pulleys 120 mm and 80 mm, axes 4250 mm apart",
        "  Press 2; template T30-10; narrow gangway",
    ]
    assert listed("conveyors", "list", "--customer", "Nobody").out == (
        "No conveyor of Nobody is listed.\n"
    )
    first, second = listed("conveyors", "list", "--json").objects
    assert first["drive"]["centres"] == 4250
    assert second["customer"] == "Veldt Sugar"


def test_empty_lists_say_how_to_begin(run: Run) -> None:
    assert "seamnote inventory take FILE" in run("inventory", "list").out
    assert "seamnote conveyors take FILE" in run("conveyors", "list").out
    assert run("inventory", "list").code == run("conveyors", "list").code == 0
    assert run("inventory", "fit", "belt_width=450mm").code == 4


DRIVE = ("--pulley", "200mm", "--pulley", "120mm", "--centres", "1.5m")


def test_a_length_with_what_is_cut(run: Run) -> None:
    ran = run(
        "length", *DRIVE, "--thickness", "2mm", "--splice-type", "finger",
        "--finger-length", "80mm", "--take-up", "-5mm", "--trim", "20mm", "--elongation", "1%",
    )  # fmt: skip
    assert ran.code == 0
    assert ran.out.splitlines() == [
        "endless    3510.0 mm",
        "           the same to 0.01 mm by the usual formula",
        "joined     3470.3 mm, slack",
        "punched    3550.3 mm, from end to end",
        "cut        3590.3 mm, between square cuts",
        "marks      1000.0 mm apart on the slack belt, 1010.0 mm at 1 %",
        "assumed    the belt's length is that along the middle of its thickness",
        "           the ends reach into one another by the length of a finger",
    ]


def test_what_is_missing_is_asked_and_no_cut_is_told(run: Run) -> None:
    ran = run("length", *DRIVE)
    assert ran.code == 4
    assert "cut        open: tell the splice type" in ran.out
    assert "punched" not in ran.out
    (told,) = run("length", *DRIVE, "--json").objects
    assert (told["cut"], told["punched"], told["missing"]) == (None, None, ["splice_type"])


def test_inches_and_the_distance_of_the_axes(run: Run) -> None:
    ran = run(
        "length", "--pulley", "12in", "--pulley", "4in", "--length", "44in", "--unit", "inch",
        "--splice-type", "butt",
    )  # fmt: skip
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert lines[0] == "axes apart 8.47 in"
    assert lines[1].strip() == "0.54 mm more by the usual formula"
    assert "endless    44.00 in" in lines
    assert "marks      10.00 in apart on the slack belt" in lines


def test_a_conveyor_of_the_list_tells_pulleys_and_belt(listed: Run) -> None:
    name = "Larkfield Bakery / Oven outfeed 3"
    (told,) = listed("length", "--conveyor", name, "--json").objects
    assert told["drive"] == {"pulley_1": 120, "pulley_2": 80, "centres": 4250, "thickness": 2}
    assert told["allowances"]["fingers"] == 30
    ran = listed("length", "--conveyor", "Veldt Sugar / Oven outfeed 3")
    assert ran.code == 2
    assert "no pulleys of 'Oven outfeed 3' are listed" in ran.complains_once()
    assert (
        listed("length", "--conveyor", "Veldt Sugar / Oven outfeed 3", "--length", "3m").code == 4
    )


def test_elongation_from_marks(run: Run) -> None:
    assert run("length", "--marks", "1000mm", "1012mm").out == "elongation 1.20 %\n"
    told = run("length", "--marks", "40in", "40 1/2 in", "--json").objects
    assert told[0]["elongation"] == pytest.approx(1.25)
    shorter = run("length", "--marks", "1000mm", "990mm")
    assert (shorter.code, shorter.out) == (4, "elongation -1.00 %\n")
    assert "nearer under tension" in shorter.err


BAD: list[tuple[list[Any], int, str]] = [
    (["length"], 2, "give both pulleys and the distance of their axes"),
    (["length", *DRIVE, "--pulley", "3mm"], 2, "a belt here runs over two pulleys"),
    (["length", *DRIVE, "--marks", "1mm", "1mm"], 2, "--marks stands by itself"),
    (["length", *DRIVE, "--unit", "bar"], 2, "'bar' is not a unit that a length can have"),
    (["length", *DRIVE, "--trim", "5"], 2, "say the unit too"),
    (["length", "--conveyor", "nowhere"], 2, "there is no conveyor 'nowhere'"),
    (["length", "--pulley", "2m", "--pulley", "2m", "--length", "5m"], 3, "is too short"),
    (["inventory", "checked", "T9"], 2, "there is no press or template 'T9'"),
    (["inventory", "checked", "T9", "--on", "May"], 2, "write it like 2026-10-01"),
    (["inventory", "fit", "belt_width=450"], 2, "say the unit too"),
    (["inventory", "fit", "speed=4"], 2, "'speed' cannot be told of a belt"),
    (["inventory", "take", "none.toml"], 3, "none.toml does not exist"),
    (["conveyors", "take", "none.csv"], 3, "none.csv does not exist"),
]


@pytest.mark.parametrize(("words", "code", "said"), BAD, ids=lambda each: None)
def test_what_is_wrong_is_said_in_one_line(
    run: Run, words: list[str], code: int, said: str
) -> None:
    ran = run(*words)
    assert ran.code == code
    assert said in ran.complains_once()
    assert ran.out == ""


def test_a_refused_list_leaves_nothing_behind(run: Run, home: Home, tmp_path: Path) -> None:
    ran = run("inventory", "take", written(tmp_path, "list.toml", LIST + LIST))
    assert ran.code == 3
    assert "press 2 (Press 2): the name is the same as in press 1" in ran.complains_once()
    assert not home.inventory.exists()
    assert json.dumps(sorted(path.name for path in home.root.iterdir())) == ('["identity", "jobs"]')
