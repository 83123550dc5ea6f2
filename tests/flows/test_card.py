"""Which card, and what a caliper says of its print."""

from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import BadValue
from recorder.flows.card import keep_measured, layout, remark
from recorder.photo.image.conditions import Conditions
from recorder.settings import load
from tests.cli.command import seamnote


@pytest.mark.parametrize(("size", "belt", "found"), [
    (None, None, "M"),
    ("l", None, "L"),
    (None, "60 mm", "M"),
    (None, "25 mm", "SM"),
    (None, "1 inch", "SM"),
    ("M", "36 mm", "M"),
])  # fmt: skip
def test_which_card(size: str | None, belt: str | None, found: str) -> None:
    assert layout(size, belt).size == found


@pytest.mark.parametrize(("size", "belt", "said"), [
    ("XXL", None, "use S, SM, M, L"),
    (None, "300 mm", "M 35 to 100 mm, L 90 to 200 mm"),
    ("S", "60 mm", "the belt of card S"),
    (None, "60", "mm"),
])  # fmt: skip
def test_no_such_card(size: str | None, belt: str | None, said: str) -> None:
    with pytest.raises(BadValue) as caught:
        layout(size, belt)
    assert said in str(caught.value)


def test_each_size_keeps_its_own_scale(tmp_path: Path) -> None:
    home = Home.open(tmp_path)
    keep_measured(home, layout("S"), "70.14,19.98")
    keep_measured(home, layout("M"), "101,100")
    keep_measured(home, layout("M"), "100.12,99.90")
    photo = load(home.settings).photo
    given = Conditions(
        print_scale=photo.print_scale,
        print_scale_size=photo.print_scale_size,
        print_scales=photo.print_scales,
    )
    assert given.for_card("M").print_scale == (1.0012, 0.999)
    assert given.for_card("S").print_scale == (1.002, 0.999)
    assert given.for_card("L").print_scale is None


@pytest.mark.parametrize("text", ["20,70", "70", "70,20,1", "a,b", "", "nan,nan", "70 mm, 20 mm"])
def test_what_cannot_be_a_reading_names_the_bars(tmp_path: Path, text: str) -> None:
    with pytest.raises(BadValue, match="card S are 70 mm across and 20 mm down"):
        keep_measured(Home.open(tmp_path), layout("S"), text)
    assert not (tmp_path / "card.toml").exists()


@pytest.mark.parametrize(("text", "said"), [
    ("100.12,99.90", ""),
    ("96.1,96.0", "4.0% too small"),
    ("102.5,101", "2.5% too large"),
    ("100.9,99.5", "differ by 1.4%"),
])  # fmt: skip
def test_an_unusual_print_is_told(tmp_path: Path, text: str, said: str) -> None:
    measured = keep_measured(Home.open(tmp_path), layout("M"), text)
    assert said in remark(measured)
    assert bool(said) == bool(remark(measured))


def test_the_list_answers_which_card(tmp_path: Path) -> None:
    ran = seamnote("card", "--list", "--json", cwd=tmp_path)
    assert [(row["size"], row["belts_mm"]) for row in ran.objects] == [
        ("S", [10, 21]), ("SM", [20, 40]), ("M", [35, 100]), ("L", [90, 200]),
    ]  # fmt: skip
    assert not list(tmp_path.glob("*.pdf"))
