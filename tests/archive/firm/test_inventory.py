"""The list of presses and templates: taken whole or not at all, and each fault has its place."""

from __future__ import annotations

import re
import time
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home
from recorder.archive.firm.checks import NotedCheck, days_noted, note, noted_checks
from recorder.archive.firm.entries import Entry, as_toml
from recorder.archive.firm.inventory import inventory, take
from recorder.errors import (
    BadFirmFile,
    ChecksDamaged,
    FileMissing,
    FileTooLarge,
    OutputUnwritable,
)
from recorder.model.inventory import Inventory, Press, Template
from tests.archive.firm.lists import INVENTORY, INVENTORY_TABLE, written

TODAY = date(2026, 11, 26)
PRESS = '[[press]]\nname = "P"\n'
TEMPLATE = '[[template]]\nname = "T"\nsplice_type = "finger"\n'


@pytest.fixture
def listed(home: Home, tmp_path: Path) -> Home:
    take(home, written(tmp_path, "inventory.toml", INVENTORY), TODAY)
    return home


def everything(home: Home) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in home.root.iterdir() if path.is_file()}


def test_a_home_without_a_list_owns_nothing(home: Home) -> None:
    assert inventory(home) == Inventory()


def test_each_value_has_its_unit_and_the_file_stays_as_it_was_written(listed: Home) -> None:
    found = inventory(listed)
    assert found.presses == (
        Press(
            name="Press 2", platen_width=650, platen_length=160, top=220, pressure=3,
            last_check=date(2026, 9, 1), check_days=365,
        ),
    )  # fmt: skip
    assert found.templates == (
        Template(
            name="T30-10", splice_type="finger", finger_length=30, finger_pitch=10,
            guide_profiles=("flat", "v_guided"), width=(60, 600), thickness=(0.8, 3),
            last_check=date(2026, 6, 15), check_days=180, note="left rail stiff",
        ),
        Template(name="Jig", splice_type="overlap"),
    )  # fmt: skip
    assert listed.inventory.read_text() == INVENTORY


@pytest.mark.parametrize("delimiter", [";", ",", "\t"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_a_table_tells_the_same(home: Home, tmp_path: Path, delimiter: str, mark: str) -> None:
    table = mark + INVENTORY_TABLE.replace(";", delimiter).replace("\n", "\r\n")
    taken = take(home, written(tmp_path, "of the office.csv", table), TODAY)
    assert taken.now == inventory(home)
    (press,), (template,) = taken.now.presses, taken.now.templates
    assert (press.platen_width, press.check_days) == (650, 365)
    assert template.guide_profiles == ("flat", "v_guided")
    assert template.width == (60, 600)
    assert template.last_check == date(2026, 6, 15)
    assert 'width = "60 mm..600 mm"' in home.inventory.read_text()


def test_the_list_before_stays_beside_the_new_one(listed: Home, tmp_path: Path) -> None:
    taken = take(listed, written(tmp_path, "new.toml", PRESS), TODAY)
    assert taken.before
    assert [press.name for press in taken.before.presses] == ["Press 2"]
    assert [press.name for press in taken.now.presses] == ["P"]
    assert listed.root.joinpath("inventory.toml.before").read_text() == INVENTORY


def test_a_new_list_mends_a_damaged_one(home: Home, tmp_path: Path) -> None:
    home.inventory.write_text("[[press")
    taken = take(home, written(tmp_path, "new.toml", PRESS), TODAY)
    assert taken.before is None
    assert inventory(home) == taken.now


BAD = [
    ("", "there is no [[press]] and no [[template]] in it"),
    ("[[press]\n", "(at line 1"),
    ("[[roller]]\n", "'roller' is neither of [[press]] or [[template]]"),
    ("press = 3\n", "write [[press]] before each press"),
    ('[press]\nname = "P"\n', "write [[press]] before each press"),
    ("[[press]]\n", "press 1: name is missing"),
    (PRESS + "\n" + PRESS, "press 2 (P): the name is the same as in press 1"),
    (PRESS + '[[press]]\nname = "p"\n', "press 2 (p): the name is the same as in press 1"),
    (TEMPLATE * 2, "template 2 (T): the name is the same as in template 1"),
    (PRESS + "weight = 3\n", "press 1 (P): there is no 'weight'; use name, platen_width"),
    (PRESS + "platen_width = 650\n", "press 1 (P): platen_width: 650 has no unit; write for "
     "example '600 mm'"),
    (PRESS + 'platen_width = "650"\n', "platen_width: 650 has no unit"),
    (PRESS + 'platen_width = "650 bar"\n', "'650 bar' is no length; use mm, cm, m"),
    (PRESS + 'platen_width = "650 furlongish"\n', "'furlongish' in '650 furlongish' is no unit"),
    (PRESS + 'platen_width = "-650 mm"\n', "'-650 mm' must be above zero"),
    (PRESS + 'top = "3 bar"\n', "'3 bar' is no temperature"),
    (PRESS + 'last_check = "last May"\n', "last_check: 'last May' is no day; write for example"),
    (PRESS + "last_check = 2026-11-27\n", "last_check: 2026-11-27 is still to come"),
    (PRESS + "last_check = 2026-02-30\n", "(at line 3"),
    (PRESS + "check_days = 0\n", "press 1 (P): check_days: "),
    (PRESS + "check_days = 1.5\n", "check_days: '1.5' is no whole number of days"),
    (PRESS + "check_days = true\n", "check_days: 'True' is no whole number of days"),
    (PRESS + 'note = "a\\u001b[2J"\n', "note: write up to 200 letters, digits and blanks"),
    (PRESS + "note = ['a']\n", "note: write it as text in quotation marks"),
    ("[[press]]\nname = ' '\n", "press 1: name: write it as text"),
    ('[[template]]\nname = "T"\n', "template 1 (T): splice_type is missing"),
    (TEMPLATE.replace("finger", "glued"), "'glued' is none of finger, double_finger"),
    (TEMPLATE + 'guide_profiles = ["round"]\n', "guide_profiles: 'round' is none of flat"),
    (TEMPLATE + 'width = "600 mm"\n', "width: '600 mm' is no span; write for example"),
    (TEMPLATE + 'width = "600 mm..60 mm"\n', "'600 mm..60 mm' runs from high to low"),
    (TEMPLATE + 'width = "60..600"\n', "has no unit"),
    (TEMPLATE + 'width = "60 mm..600"\n', "600 has no unit"),
    (TEMPLATE + 'thickness = "2 bar"\n', "'2 bar' is no span; write for example '60 mm..600 mm'"),
    (PRESS + 'top = "-300 degC"\n', "top: '-300 degC' is below absolute zero"),
    ("x = " + "[" * 5000, "it is nested too deeply"),
    (PRESS + f"check_days = {'9' * 5000}\n", "a number in it has too many digits"),
    (PRESS + f"note = 0x{'f' * 5000}\n", "press 1 (P): note: this number is too large"),
    (PRESS + f'platen_width = "5 {"m" * 5000}"\n', "m' is no unit that is known here"),
    (f'[[press]]\nname = "{"x" * 5000}"\n', "name: write up to 200 letters"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "detail"), BAD)
def test_a_fault_is_told_with_its_entry_and_nothing_is_kept(
    listed: Home, tmp_path: Path, content: str, detail: str
) -> None:
    before = everything(listed)
    with pytest.raises(BadFirmFile, match=re.escape(detail)) as told:
        take(listed, written(tmp_path, "new.toml", content), TODAY)
    assert "\n" not in str(told.value)
    assert len(str(told.value)) < 700
    assert everything(listed) == before


HEADER = "kind,name,platen_width,note\n"
BAD_TABLES = [
    (b"", "line 1: the header has no column 'kind'"),
    (b"name,width\nT,3 mm\n", "line 1: the header has no column 'kind' (press or template)"),
    (b"kind,name,Name\n", "line 1: the column 'name' is there twice"),
    (HEADER.encode(), "there is no [[press]] and no [[template]] in it"),
    (f"{HEADER}roller,R,,\n".encode(), "line 2: kind is press or template"),
    (f"{HEADER},R,,\n".encode(), "line 2: kind is press or template"),
    (f"{HEADER}press,P,650,\n".encode(), "line 2 (P): platen_width: 650 has no unit"),
    (f"{HEADER}press,P,,\n\npress,p,,\n".encode(), "line 4 (p): the name is the same as in line 2"),
    (f"{HEADER}press,P,4 mm,a,b\n".encode(), "line 2 has 5 cells, the header has 4"),
    (f"{HEADER}press,P,,\"a\n".encode(), "line 2: "),
    ("kind,name\npress,Grün\n".encode("latin-1"), "line 2 is not UTF-8; save it as UTF-8"),
    (b"kind,name\npress,P\0\n", "line 2 (P\0): name: write up to 200 letters"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "detail"), BAD_TABLES)
def test_a_fault_of_a_table_is_told_with_its_line(
    listed: Home, tmp_path: Path, content: bytes, detail: str
) -> None:
    before = everything(listed)
    with pytest.raises(BadFirmFile, match=re.escape(detail)):
        take(listed, written(tmp_path, "new.csv", content), TODAY)
    assert everything(listed) == before


def test_what_is_no_list_is_refused(home: Home, tmp_path: Path) -> None:
    with pytest.raises(FileMissing):
        take(home, tmp_path / "none.toml", TODAY)
    with pytest.raises(FileTooLarge):
        take(home, written(tmp_path, "huge.csv", b"x" * 5_000_001), TODAY)


def noted(name: str, day: int, withdrawn: bool = False) -> NotedCheck:
    return NotedCheck(
        kind="template", name=name, on=date(2026, 11, day), withdrawn=withdrawn,
        noted_at=datetime(2026, 11, 26, tzinfo=UTC), by="Imke Dorn",
    )  # fmt: skip


def last_check(home: Home) -> date | None:
    return inventory(home).templates[0].last_check


def test_the_last_check_counts_whoever_tells_it(listed: Home, tmp_path: Path) -> None:
    note(listed, noted("T30-10", 20))
    note(listed, noted("t30-10", 4))
    assert last_check(listed) == date(2026, 11, 20)
    note(listed, noted("T30-10", 20, withdrawn=True))
    assert last_check(listed) == date(2026, 11, 4)
    note(listed, noted("T30-10", 4, withdrawn=True))
    assert last_check(listed) == date(2026, 6, 15)
    assert len(noted_checks(listed)) == 4
    note(listed, noted("T30-10", 21))
    take(listed, written(tmp_path, "again.toml", INVENTORY), TODAY)
    assert last_check(listed) == date(2026, 11, 21)
    assert days_noted(listed, "template", "T30-10") == {date(2026, 11, 21)}
    assert days_noted(listed, "press", "T30-10") == frozenset()


def test_nothing_is_added_behind_a_damaged_note(listed: Home) -> None:
    note(listed, noted("T30-10", 20))
    listed.checks.write_bytes(listed.checks.read_bytes() + b'{"kind": "template"\n')
    before = listed.checks.read_bytes()
    for look in (lambda: note(listed, noted("T30-10", 21)), lambda: inventory(listed)):
        with pytest.raises(ChecksDamaged, match=r"line 2: .*from a backup"):
            look()
    assert listed.checks.read_bytes() == before


PRINTABLE = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=30)


@given(st.dictionaries(st.sampled_from(["name", "note", "width"]), PRINTABLE, min_size=1))
def test_a_table_as_toml_says_the_same(told: dict[str, str]) -> None:
    entries = [Entry(Path("list.csv"), "line 2", "press", told)] * 2
    assert tomllib.loads(as_toml(entries).decode()) == {"press": [told, told]}


def test_a_long_list_is_taken_in_a_moment(home: Home, tmp_path: Path) -> None:
    """With each name held against each other it would be a minute."""
    rows = "".join(f"press,P{number}\n" for number in range(20_000))
    began = time.process_time()
    taken = take(home, written(tmp_path, "long.csv", f"kind,name\n{rows}"), TODAY)
    assert len(taken.now.presses) == 20_000
    assert time.process_time() - began < 5


def test_a_wide_table_is_refused_in_a_moment(home: Home, tmp_path: Path) -> None:
    header = ",".join(f"c{number}" for number in range(100_000))
    began = time.process_time()
    with pytest.raises(BadFirmFile, match=r"there is no 'c0'"):
        take(home, written(tmp_path, "wide.csv", f"kind,{header}\npress,1\n"), TODAY)
    assert time.process_time() - began < 5


def test_a_check_is_added_behind_a_line_that_an_editor_left_open(listed: Home) -> None:
    note(listed, noted("T30-10", 4))
    listed.checks.write_bytes(listed.checks.read_bytes().rstrip())
    note(listed, noted("T30-10", 20))
    assert [each.on.day for each in noted_checks(listed)] == [4, 20]


def test_on_a_full_disk_both_lists_stay(
    listed: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(listed, written(tmp_path, "new.toml", PRESS), TODAY)
    before = everything(listed)
    stage = atomic.stage

    def full(path: Path, content: bytes) -> Path:
        if path == listed.inventory:
            raise OutputUnwritable(path=path, detail="No space left on device")
        return stage(path, content)

    monkeypatch.setattr(atomic, "stage", full)
    with pytest.raises(OutputUnwritable):
        take(listed, written(tmp_path, "newer.toml", TEMPLATE), TODAY)
    assert everything(listed) == before


def test_what_is_no_file_of_checks_is_not_opened(listed: Home) -> None:
    """A pipe would be waited for without end; a folder does for the test on every system."""
    listed.checks.mkdir()
    with pytest.raises(ChecksDamaged, match="not a regular file"):
        inventory(listed)
