"""'seamnote recipe' and 'seamnote windows' as a person and as a program see them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.cli import main
from recorder.flows.knowhow import recipes
from tests.cli.command import Ran
from tests.flows.knowhow import light_jobs
from tests.flows.knowhow.past_jobs import asks, keep_job, told

WINDOWS = """\
[[window]]
name = "TPU 2 mm"
belt_material = "TPU"
belt_thickness = "1 mm..3 mm"
source = "Sheet 12"
[window.settings]
top_temperature = "..180 degC"
"""

Command = Callable[..., Ran]


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    home = Home.open(tmp_path_factory.mktemp("recipes") / "home")
    for number, top, days in (("4801", 172.0, 30), ("4802", 174.0, 20), ("4803", 170.0, 10)):
        keep_job(home, told(number, "accepted", top), days)
    keep_job(home, told("4804", "rejected", 185.0, press="P 900"), 9, gap=0.9)
    keep_job(home, told("4805", "accepted", 180.0, belt_thickness=3.0, belt_width=90.0), 8)
    keep_job(home, (*told("4806", None, None), *asks(top_temperature=185.0)), 1)
    file = home.root / "from the makers.toml"
    file.write_text(WINDOWS)
    recipes.take_windows(home, file)
    return home


@pytest.fixture
def seamnote(home: Home, capsys: pytest.CaptureFixture[str]) -> Command:
    def run(*arguments: str | Path) -> Ran:
        group, name, *others = map(str, arguments)
        code = main([group, name, "--home", str(home.root), *others])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return Ran(code, out, err)

    return run


def test_what_was_used_stands_side_by_side(seamnote: Command, home: Home) -> None:
    ran = seamnote("recipe", "find", "4806")
    ids = {path.name[:8]: path.name for path in home.jobs.iterdir()}
    assert ran.code == 0
    assert ran.out.splitlines() == [
        "Belt: TPU CV-120A, 2 mm thick, 70 mm wide, flat, finger",
        "",
        "Window TPU 2 mm of the belt maker: TPU, 1 mm to 3 mm thick",
        "  source      Sheet 12",
        "  Top platen  up to 180 °C",
        "",
        "3 of 4 splices accepted (75 %; Wilson interval at 95 %: 30 to 95 %)",
        "                        accepted                          rejected",
        "jobs                    3 jobs                            1 job",
        f"last                    2026-11-15, {ids['20261115']}  2026-11-16, {ids['20261116']}",
        "press                   P 600                             P 900",
        "Pressure                2.2 bar                           2.2 bar",
        "Top platen              172 °C (170 to 174, s 2 K)        185 °C",
        "Finger gap, measured    0.2 mm                            0.9 mm",
        "Splice width, measured  70.1 mm                           70.1 mm",
        "",
        "Usual value (lowest to highest, s: standard deviation)",
    ]


def test_the_nearest_belts_in_other_units(seamnote: Command) -> None:
    ran = seamnote(
        "recipe", "find", "4801", "belt_thickness=2.5 mm", "--unit", "degF", "--unit", "psi",
        "--unit", "inch",
    )  # fmt: skip
    assert "No job on just such a belt says how it came out." in ran.out
    assert "(3 mm instead of 2.5 mm thick, 20 mm wider)" in ran.out
    assert "Top platen              342 °F (338 to 345, s 3.6 °F)" in ran.out
    assert "Pressure                31.9 psi" in ran.out
    assert "Belt: TPU CV-120A, 0.098 in thick, 2.756 in wide" in ran.out


def test_programs_get_the_whole_answer(seamnote: Command) -> None:
    (found,) = seamnote("recipe", "find", "4801", "--json", "--unit", "degF").objects
    accepted = found["exact"]["tried"][0]
    (top,) = [each for each in accepted["settings"] if each["field"] == "top_temperature"]
    assert top == {
        "field": "top_temperature", "count": 3, "usual": 341.6, "low": 338.0, "high": 345.2,
        "spread": 3.6, "below": 0, "unit": "degF",
    }  # fmt: skip
    assert accepted["last"]["top_temperature"] == 338.0
    assert found["exact"]["share"]["of"] == 4
    assert found["windows"][0]["bounds"][0]["high"] == 356.0
    assert found["units"]["pressure"] == "bar"


@pytest.mark.parametrize(
    ("asked", "code", "told"),
    [
        (["belt_width=70 mm"], 2, "tell its material too"),
        (["belt_material=TPU", "belt_width=70"], 2, "unit"),
        (["belt_material=TPU", "belt_width=70 degC"], 2, "not a unit"),
        (["belt_widht=70 mm"], 2, "use belt_material, belt_thickness"),
        (["belt_material=TPU", "belt_material=PVC"], 2, "give belt_material once"),
        (["4801", "4802"], 2, "name one job"),
        (["9999"], 2, "no job answers to '9999'"),
        (["none.toml"], 3, "none.toml does not exist"),
    ],
)
def test_what_cannot_be_looked_up(
    seamnote: Command, asked: list[str], code: int, told: str
) -> None:
    ran = seamnote("recipe", "find", *asked)
    assert ran.code == code
    assert told in ran.complains_once()
    assert ran.out == ""


@pytest.mark.parametrize(
    ("span", "told"),
    [("1.5 mm..", "TPU, from 1.5 mm thick"), ("..3 mm", "TPU, up to 3 mm thick")],
)
def test_a_window_with_one_end(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], span: str, told: str
) -> None:
    file = tmp_path / "windows.toml"
    file.write_text(WINDOWS.replace("1 mm..3 mm", span))
    home = ("--home", str(tmp_path / "home"))
    assert main(["windows", "take", str(file), *home]) == 0
    assert main(["windows", "list", *home]) == 0
    assert f"Window TPU 2 mm of the belt maker: {told}\n" in capsys.readouterr().out


def test_no_recipe_is_kept_of_a_job_that_was_interrupted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was not heard yet may say that the splice was pressed again."""
    whole = light_jobs.job(4801, light_jobs.FIRST, 0.2)
    home = light_jobs.home_of(tmp_path, [whole.model_copy(update={"complete": False})])
    assert main(["recipe", "keep", "last", "Oven", "--home", str(home.root)]) == 3
    assert "was interrupted before all of its files were heard" in capsys.readouterr().err
    assert not home.recipes.exists()


def test_a_recipe_from_keeping_to_retiring(seamnote: Command, tmp_path: Path) -> None:
    kept = seamnote("recipe", "keep", "4803", "Oven 70", "--reason", "good on both")
    assert kept.out.splitlines()[1:] == [
        "  belt        TPU CV-120A, 2 mm thick, 70 mm wide, flat, finger",
        "  press       P 600",
        "  from        3 jobs",
        "  why         good on both",
        "  Pressure    2.2 bar",
        "  Top platen  170 °C (170 to 174)",
    ]
    again = seamnote("recipe", "keep", "4803", "oven 70")
    assert (again.code, again.complains_once()) == (
        0, "seamnote: Oven 70 is kept so already; no new version was made",
    )  # fmt: skip
    refused = seamnote("recipe", "keep", "4804", "Hot")
    assert (refused.code, "rejected" in refused.complains_once()) == (3, True)

    checked = seamnote("recipe", "check", "4806")
    assert checked.code == 4
    assert checked.out.splitlines()[:2] == [
        "Top platen 185 °C: recipe Oven 70, version 1, has 170 to 174 °C",
        "Top platen 185 °C: the belt maker's window TPU 2 mm (Sheet 12) gives up to 180 °C",
    ]
    (both,) = seamnote("recipe", "check", "4806", "--json", "--unit", "degF").objects
    assert [(each["against"], each["value"], each["unit"]) for each in both["deviations"]] == [
        ("recipe", 365.0, "degF"), ("window", 365.0, "degF"),
    ]  # fmt: skip
    card = tmp_path / "job.toml"
    card.write_text(
        'belt_material = "TPU CV-120A"\nbelt_thickness = "2 mm"\npress = "P 600"\n'
        '[asked]\ntop_temperature = "176 degC"\n[meant]\ntop_temperature = "176 degC"\n'
    )
    confirmed = seamnote("recipe", "check", str(card))
    assert (confirmed.code, confirmed.out.splitlines()[0]) == (
        0,
        "Top platen 176 °C: recipe Oven 70, version 1, has 170 to 174 °C "
        "(confirmed on the job card)",
    )
    (told,) = seamnote("recipe", "check", str(card), "--json").objects
    assert [each["meant"] for each in told["deviations"]] == [True]
    assert told["against"][0] == "recipe Oven 70, version 1"
    fine = seamnote("recipe", "check", "4802")
    assert (fine.code, fine.out) == (
        0,
        "Nothing differs. Held against: recipe Oven 70, version 1; "
        "the belt maker's window TPU 2 mm (Sheet 12).\n",
    )
    alone = seamnote("recipe", "check", "4805")
    assert (alone.code, alone.out[:16]) == (0, "Nothing differs.")

    compared = seamnote("recipe", "compare", "oven-70", "4805").out.splitlines()
    assert compared[-1] == "Top platen      170 °C (170 to 174)  180 °C              +10 K"
    assert compared[2] == "Belt thickness  2 mm                 3 mm                another belt"
    (rows,) = seamnote("recipe", "compare", "oven-70", "4805", "--json").objects
    assert rows["belt"] == ["belt_thickness", "belt_width"]

    listed = seamnote("recipe", "list").out.splitlines()
    assert [line.split("  ")[0] for line in listed] == ["name", "Oven 70"]
    retired = seamnote("recipe", "retire", "Oven 70", "--reason", "platen changed")
    assert retired.out == "Oven 70 is retired since version 2: platen changed\n"
    assert "every recipe is retired" in seamnote("recipe", "list").complains_once()
    assert "2, retired" in seamnote("recipe", "list", "--all").out
    versions = seamnote("recipe", "show", "Oven 70", "--json").objects
    assert [(each["version"], each["retired"]) for each in versions] == [(2, True), (1, False)]
    assert "accepted runs on such a belt had 170" in seamnote("recipe", "check", "4806").out


def test_an_altered_recipe_is_refused(seamnote: Command, home: Home, tmp_path: Path) -> None:
    seamnote("recipe", "keep", "4803", "Altered")
    path = home.recipes / "altered.jsonl"
    path.write_bytes(path.read_bytes().replace(b"172.0", b"182.0").replace(b"170.0", b"150.0"))
    try:
        for words in (["show", "altered"], ["check", "4806"], ["compare", "altered", "4801"]):
            ran = seamnote("recipe", *words)
            assert (ran.code, ran.out) == (3, "")
            assert "version 1 of the recipe 'altered' is not as it was kept" in ran.complains_once()
        for words in (["list"], ["find", "4801"]):
            ran = seamnote("recipe", *words)
            assert ran.code == 3
            assert "is not as it was kept" in ran.err
    finally:
        path.unlink()


def test_files_are_taken_whole(seamnote: Command, tmp_path: Path) -> None:
    assert seamnote("windows", "take", tmp_path / "none.toml").code == 3
    bad = tmp_path / "bad.toml"
    bad.write_text(WINDOWS.replace("180 degC", "180"))
    ran = seamnote("windows", "take", bad)
    assert ran.code == 3
    assert "window 1 (TPU 2 mm): settings: top_temperature: " in ran.complains_once()
    shown = seamnote("windows", "list", "--unit", "degF")
    assert "  Top platen  up to 356 °F" in shown.out.splitlines()
    good = tmp_path / "good.toml"
    good.write_text(WINDOWS)
    taken = seamnote("windows", "take", good, "--json")
    assert json.loads(taken.out)[0]["name"] == "TPU 2 mm"

    ours = tmp_path / "ours.toml"
    ours.write_text(
        '[[recipe]]\nname = "Ours"\nbelt_material = "TPU"\n[recipe.settings]\npressure = "2 bar"\n'
    )
    assert seamnote("recipe", "take", ours).out == "Ours: version 1 taken\n"
    assert seamnote("recipe", "take", ours).out == "Ours: version 1 is kept so already\n"
    ours.write_text(ours.read_text().replace("2 bar", "2"))
    refused = seamnote("recipe", "take", ours)
    assert refused.code == 3
    assert "recipe 1 (Ours): settings: pressure: " in refused.complains_once()


def test_an_empty_home_says_what_to_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    home = str(tmp_path / "new")
    assert main(["recipe", "list", "--home", home]) == 0
    assert main(["windows", "list", "--home", home]) == 0
    assert main(["recipe", "find", "--home", home, "belt_material=TPU"]) == 0
    out, err = capsys.readouterr()
    assert out.splitlines() == ["Belt: TPU", "", "No job on just such a belt says how it came out."]
    assert "seamnote recipe keep JOB NAME" in err
    assert "seamnote windows take FILE" in err
