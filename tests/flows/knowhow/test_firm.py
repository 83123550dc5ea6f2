"""The firm's lists held against its past jobs, its conveyors and the day."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.acting import acting
from recorder.errors import BadFirmFile, BadValue, UnknownName
from recorder.flows.knowhow import firm
from recorder.knowhow.preparing import checks
from recorder.model.belt import Belt
from tests.archive.firm.lists import CONVEYORS, INVENTORY, written
from tests.flows.knowhow.past_jobs import keep_job, told

OWNED = INVENTORY.replace('"finger"\nfinger_length = "30 mm"\nfinger_pitch = "10 mm"', '"finger"')
TODAY = date(2026, 11, 26)
BELT = Belt(
    belt_material="tpu cv-120a",
    belt_thickness=2,
    belt_width=300,
    guide_profile="flat",
    splice_type="finger",
)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    home = Home.open(tmp_path / "home")
    firm.take_inventory(home, written(tmp_path, "inventory.toml", OWNED), today=TODAY)
    firm.take_conveyors(home, written(tmp_path, "conveyors.toml", CONVEYORS))
    return home


def test_accepted_splices_on_such_a_belt_speak_for_a_template(home: Home) -> None:
    keep_job(home, told("1", "accepted", template="T30-10"), days=1)
    keep_job(home, told("2", "accepted", template="t30-10", belt_width=450.0), days=2)
    keep_job(home, told("3", "rejected", template="T30-10"), days=3)
    keep_job(home, told("4", "accepted", template="T30-10", belt_thickness=3.0), days=4)
    last = keep_job(home, told("5", "accepted", template="T30-10"), days=5)
    best = firm.proposal_for(home, BELT, TODAY).best
    assert best
    assert best.used == 3
    but = firm.proposal_for(home, BELT, TODAY, but=last.id).best
    assert but
    assert but.used == 2
    assert but.template.name == "T30-10"
    unnamed = BELT.model_copy(update={"belt_material": None})
    any_belt = firm.proposal_for(home, unnamed, TODAY).best
    assert any_belt
    assert any_belt.used == 0


def test_without_jobs_and_without_a_list_it_is_said(home: Home, tmp_path: Path) -> None:
    assert firm.proposal_for(home, BELT, TODAY).best
    empty = Home.open(tmp_path / "empty")
    assert firm.proposal_for(empty, BELT).why == "no template stands in the inventory"
    assert not empty.index.exists()


def test_a_check_that_is_noted_moves_the_next_one(home: Home) -> None:
    late = date(2030, 1, 1)
    assert [check.name for check in firm.checks_due(home, late)] == ["T30-10", "Press 2"]
    with acting("Imke Dorn"):
        check = firm.checked(home, None, "t30-10", today=TODAY)
    assert check
    assert (check.kind, check.name, check.due) == (
        "template", "T30-10", TODAY + timedelta(days=180),
    )  # fmt: skip
    assert not checks.late(check)
    assert firm.checked(home, "template", "Jig", today=TODAY) is None
    again = firm.checked(home, None, "T30-10", TODAY, withdrawn=True, today=TODAY)
    assert again
    assert again.due == date(2026, 6, 15) + timedelta(days=180)


@pytest.mark.parametrize(
    ("name", "day", "withdrawn", "hint"),
    [
        ("T30-10", date(2999, 1, 1), False, "still to come"),
        ("T30-10", date(2026, 6, 15), True, r"no check of T30-10 was noted on it \(noted: none\)"),
    ],
)
def test_a_day_that_cannot_be(home: Home, name: str, day: date, withdrawn: bool, hint: str) -> None:
    with pytest.raises(BadValue, match=hint):
        firm.checked(home, None, name, day, withdrawn, TODAY)
    assert not home.checks.exists()


def test_a_name_that_is_none_and_one_that_is_two(home: Home, tmp_path: Path) -> None:
    with pytest.raises(UnknownName, match=r"no press or template 'T30-1'; did you mean 'T30-10'"):
        firm.checked(home, None, "T30-1")
    with pytest.raises(UnknownName, match="no press 'T30-10'"):
        firm.checked(home, "press", "T30-10")
    twice = f'{OWNED}\n[[press]]\nname = "T30-10"\n'
    firm.take_inventory(home, written(tmp_path, "twice.toml", twice), today=TODAY)
    with pytest.raises(BadValue, match="say --kind press or --kind template"):
        firm.checked(home, None, "T30-10")
    assert firm.checked(home, "template", "T30-10")


def test_a_conveyor_is_found_by_its_name_and_by_its_customer(home: Home) -> None:
    assert firm.conveyor(home, "veldt sugar / oven  outfeed 3").customer == "Veldt Sugar"
    full = "Larkfield Bakery / Packing hall 2 / Oven outfeed 3"
    assert firm.conveyor(home, full).drive
    with pytest.raises(BadValue, match=f"several have it; say '{full}' or 'Veldt Sugar / Oven"):
        firm.conveyor(home, "Oven outfeed 3")
    with pytest.raises(UnknownName, match="no conveyor 'Oven outfed 3'; did you mean"):
        firm.conveyor(home, "Oven outfed 3")


def test_no_conveyor_with_pulleys_in_one_another_is_taken(home: Home, tmp_path: Path) -> None:
    wrong = CONVEYORS.replace("4.25 m", "99 mm")
    with pytest.raises(BadFirmFile, match=r"conveyor 1 \(Oven outfeed 3\): pulleys of 120 mm"):
        firm.take_conveyors(home, written(tmp_path, "wrong.toml", wrong))
    assert home.conveyors.read_text() == CONVEYORS
