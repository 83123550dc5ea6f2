"""What belt makers give, as a firm writes it into a file."""

from __future__ import annotations

from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.firm.windows import take, windows
from recorder.errors import BadFirmFile, FileMissing
from recorder.model.recipe import Bound, Window

GOOD = """\
# from the sheets of the year
[[window]]
name = "TPU 2 mm"
belt_material = "TPU"
belt_thickness = "1 mm..3 mm"
source = "Sheet 12"

[window.settings]
top_temperature = "338 degF..180 degC"
pressure = "..2.5 bar"
dwell_time = "3 min.."

[[window]]
name = "PVC"
belt_material = "PVC"
source = "Sheet 13"
[window.settings]
bottom_temperature = "150..160 degC"
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "windows of the makers.toml"
    path.write_text(GOOD)
    return path


def test_a_file_is_taken_as_it_is(home: Home, file: Path) -> None:
    assert windows(home) == ()
    taken = take(home, file)
    assert taken == windows(home)
    assert taken == (
        Window(
            name="TPU 2 mm", belt_material="TPU", thickness=(1.0, 3.0), source="Sheet 12",
            bounds=(
                Bound(field="pressure", high=2.5),
                Bound(field="top_temperature", low=170.0, high=180.0),
                Bound(field="dwell_time", low=180.0),
            ),
        ),
        Window(
            name="PVC", belt_material="PVC", source="Sheet 13",
            bounds=(Bound(field="bottom_temperature", low=150.0, high=160.0),),
        ),
    )  # fmt: skip
    assert home.windows.read_text() == GOOD


def test_a_table_does_as_well(home: Home, tmp_path: Path) -> None:
    path = tmp_path / "windows.csv"
    path.write_text("name;belt material;source;pressure\nThin;TPU;Sheet 1;1.5 bar..2 bar\n")
    (window,) = take(home, path)
    assert window.bounds == (Bound(field="pressure", low=1.5, high=2.0),)
    assert windows(home) == (window,)


@pytest.mark.parametrize(
    ("written", "instead", "told"),
    [
        ('"..2.5 bar"', '"..2.5"', r"window 1 \(TPU 2 mm\): settings: pressure: .* no unit"),
        ('"..2.5 bar"', "2.5", r"window 1 \(TPU 2 mm\): settings: pressure: .*"),
        ("180 degC", "180", r"window 1 \(TPU 2 mm\): settings: top_temperature: .* no unit"),
        ("150..160 degC", "150 degC", r".*'150 degC' is no span; .* '170 degC..180 degC'"),
        ("150..160 degC", "160..150 degC", r"window 2 \(PVC\): settings: bottom_temperature: .*"),
        ("150..160 degC", "2 bar..3 bar", r"window 2 \(PVC\): settings: bottom_temperature: .*"),
        ("1 mm..3 mm", "1..3", r"window 1 \(TPU 2 mm\): belt_thickness: .*"),
        ("dwell_time", "dwell", r"window 1 \(TPU 2 mm\): settings: dwell is no setting of a press"),
        ('name = "PVC"', 'name = "tpu  2 MM"', r"window 2 \(tpu 2 MM\): the name is the same"),
        ('source = "Sheet 13"', "", r"window 2 \(PVC\): source"),
        ('name = "PVC"', "", r"window 2: name"),
        ("bottom_temperature = ", "# ", r"window 2 \(PVC\): settings: give at least one setting"),
        ("[[window]]", "[[w]]", "Cannot declare"),
        ("[[window]]", "[[window", "line 2"),
    ],
)
def test_what_is_wrong_names_the_entry_and_nothing_is_taken(
    home: Home, file: Path, written: str, instead: str, told: str
) -> None:
    take(home, file)
    assert written in GOOD
    file.write_text(GOOD.replace(written, instead))
    with pytest.raises(BadFirmFile, match=told):
        take(home, file)
    assert home.windows.read_text() == GOOD


def test_an_empty_file_is_refused(home: Home, file: Path) -> None:
    file.write_text("[[w]]")
    with pytest.raises(BadFirmFile, match=r"'w' is no \[\[window\]\]"):
        take(home, file)
    file.write_text("")
    with pytest.raises(BadFirmFile, match=r"no \[\[window\]\]"):
        take(home, file)
    with pytest.raises(FileMissing):
        take(home, file.with_name("none.toml"))
    assert not home.windows.exists()
