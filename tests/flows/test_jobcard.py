"""What a job card says of settings, asked for and of a recipe, and of the length of the belt."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.errors import BadJobCard
from recorder.flows import card_length, jobcard
from recorder.flows.process import _sort_out
from recorder.knowhow.preparing import length
from recorder.model.job import in_force
from recorder.model.length import Allowances, BeltLength, Drive
from recorder.model.reading import Role


def test_asked_and_recipe_are_no_settings_that_were_used(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('[asked]\npressure = "2.2 bar"\n[recipe]\npressure = "30 psi"\n')
    readings = jobcard.read(path).readings
    assert in_force(readings) == {}
    assert in_force(readings, role=Role.ASKED)["pressure"].value == 2.2
    recipe = in_force(readings, role=Role.RECIPE)["pressure"]
    assert recipe.value == pytest.approx(2.068, abs=0.001)
    assert recipe.as_said is not None


def test_a_recipe_that_cannot_be_read_is_refused_with_its_entry(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('[recipe]\npressure = "hot"\n')
    with pytest.raises(BadJobCard, match="pressure"):
        jobcard.read(path)


LENGTH = """
[belt_length]
pulley_1 = "250 mm"
pulley_2 = "0.2 m"
centres = "4.2 m"
thickness = "2 mm"
fingers = "80 mm"
trim = "20 mm"
elongation = "0.8 %"
"""


def length_of(tmp_path: Path, text: str) -> BeltLength:
    path = tmp_path / "job.toml"
    path.write_text(text)
    found = jobcard.read(path).belt_length
    assert found
    return found


def test_the_length_of_the_belt_is_worked_out_of_its_inputs(tmp_path: Path) -> None:
    found = length_of(tmp_path, LENGTH)
    assert found.endless == pytest.approx(9113.29, abs=0.01)
    assert found.cut == pytest.approx(9113.29 / 1.008 + 80 + 40, abs=0.01)
    assert found.mark_tensioned == pytest.approx(1008.0)


def test_a_length_that_was_written_is_read_as_it_was(tmp_path: Path) -> None:
    found = length_of(tmp_path, LENGTH)
    table = "\n".join(f'{name} = "{text}"' for name, text in card_length.written(found).items())
    assert length_of(tmp_path, f"[belt_length]\n{table}\n") == found


SIZE = st.floats(1e-3, 1e6)


@given(SIZE, SIZE, SIZE, st.floats(0, 50), st.floats(0, 300), st.floats(0, 15))
def test_any_length_is_read_as_it_was_written(
    one: float, two: float, apart: float, thickness: float, fingers: float, stretched: float
) -> None:
    drive = Drive(pulley_1=one, pulley_2=two, centres=(one + two) / 2 + apart, thickness=thickness)
    try:
        found = length.belt_length(drive, Allowances(fingers=fingers, trim=apart), None, stretched)
    except ValueError:  # fingers longer than the belt
        return
    again = card_length.read(card_length.written(found))
    assert again.cut == pytest.approx(found.cut, rel=1e-9)
    assert again.mark_tensioned == pytest.approx(found.mark_tensioned, rel=1e-9)


@pytest.mark.parametrize("result", ['endless = "9113.3 mm"', 'cut = "9.161 m"', 'cut = "9161 mm"'])
def test_a_result_agrees_as_closely_as_it_is_written(tmp_path: Path, result: str) -> None:
    assert length_of(tmp_path, f"{LENGTH}{result}\n")


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ('cut = "9200 mm"', "cut does not follow from the rest, which gives 9160.9"),
        ('mark_tensioned = "1009 mm"', "mark_tensioned does not follow"),
        ('take_up = "30"', "take_up: '30' is no number with its unit"),
        ('take_up = "3 bar"', "take_up: bar cannot become mm"),
        ('width = "70 mm"', "there is no width"),
        ('mark_spacing = "90 m"', "do not fit on a belt"),
    ],
)
def test_a_length_that_cannot_be_is_refused_with_its_entry(
    tmp_path: Path, lines: str, told: str
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f"{LENGTH}{lines}\n")
    with pytest.raises(BadJobCard, match=f"belt_length: .*{re.escape(told)}"):
        jobcard.read(path)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('pulley_1 = "250 mm"', "pulley_2 is missing"),
        ('trim = "20 mm"', "give pulley_1, pulley_2 and centres, or endless"),
        ('pulley_1 = "5 m"\npulley_2 = "5 m"\ncentres = "1 m"', "touch"),
        ('pulley_1 = "-5 m"\npulley_2 = "5 m"\ncentres = "9 m"', "pulley_1"),
        ('endless = "9 m"\nfingers = "10 m"', "longer than the belt"),
        ("endless = 9000", "belt_length.endless"),
    ],
)
def test_a_belt_that_cannot_run_is_refused(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "job.toml"
    path.write_text(f"[belt_length]\n{text}\n")
    with pytest.raises(BadJobCard, match=re.escape(told)):
        jobcard.read(path)


def test_the_page_of_a_card_is_no_stray_file_in_a_folder(tmp_path: Path) -> None:
    for name in ("job.toml", "job_card.pdf", "notes.pdf", "narration.wav"):
        (tmp_path / name).write_bytes(b"")
    kinds, passed_over = _sort_out(tmp_path)
    assert {path.name for path in kinds} == {"job.toml", "narration.wav"}
    assert passed_over == ("notes.pdf",)
