"""Recipes from the jobs of a home: looked up, kept, checked, taken."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import (
    BadFirmFile,
    BadValue,
    CannotKeep,
    RecipeChanged,
    UnknownRecipe,
)
from recorder.flows.knowhow import recipes
from recorder.flows.knowhow.recipe_asked import asked, side
from recorder.model.belt import Belt
from recorder.model.job import Job
from recorder.model.reading import Role, Standing
from recorder.model.recipe import Setting
from tests.archive.sample_jobs import NOW, from_card, reading
from tests.flows.knowhow.past_jobs import BELT, asks, keep_job, told

WRITTEN = """\
[[recipe]]
name = "Oven 70"
belt_material = "TPU CV-120A"
belt_thickness = "2 mm"
guide_profile = "V-guided"
press = "P 600"
reason = "Trials of October"
[recipe.settings]
pressure = "32 psi"
top_temperature = { use = "172 degC", range = "170..175 degC" }

[[recipe]]
name = "Thin"
belt_material = "TPU"
[recipe.settings]
dwell_time = "3 min"
"""


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "ours.toml"
    path.write_text(WRITTEN)
    return path


def belt(**changes: object) -> Belt:
    return Belt.model_validate({**BELT, **changes})


def live(*readings: object) -> Job:
    """A session that goes on: no folder, not complete."""
    return Job.model_validate(
        {"id": "live", "created_at": NOW, "version": "0.1.0", "readings": readings}
    )


def test_jobs_on_just_such_a_belt(home: Home) -> None:
    keep_job(home, told("1", "accepted", 170.0), 9)
    keep_job(home, told("2", "accepted", 174.0, belt_material="tpu  cv-120a"), 5, gap=0.4)
    last = keep_job(home, told("3", "rejected", 190.0), 2)
    keep_job(home, told("4", "accepted", 150.0, belt_width=90.0), 1)
    found = recipes.look_up(home, belt())
    assert found.exact
    assert (found.exact.share.accepted, found.exact.share.of) == (2, 3)
    accepted, rejected = found.exact.tried
    assert accepted.settings[1].usual == 170.0
    assert (accepted.settings[1].low, accepted.settings[1].high) == (170.0, 174.0)
    assert (accepted.measured[0].low, accepted.measured[0].high) == (0.2, 0.4)
    assert rejected.last_job == last.id
    assert found.nearest == ()
    assert [t.outcome for t in recipes.look_up(home, belt(), last.id).exact.tried] == ["accepted"]  # type: ignore[union-attr]


def test_what_is_not_asked_may_be_anything(home: Home) -> None:
    keep_job(home, told("1", "accepted"))
    keep_job(home, told("2", "accepted", belt_width=90.0), 1)
    found = recipes.look_up(home, Belt(belt_material="TPU CV-120A", belt_thickness=2.0))
    assert found.exact
    assert found.exact.share.of == 2
    assert recipes.look_up(home, Belt(belt_width=70.0)).exact is None


def test_a_doubtful_value_never_counts(home: Home) -> None:
    keep_job(home, told("1", "accepted", 170.0))
    keep_job(home, told("2", "accepted", 999.0, standing=Standing.DOUBTFUL), 1)
    found = recipes.look_up(home, belt())
    assert found.exact
    top = found.exact.tried[0].settings[1]
    assert (top.count, top.high) == (1, 170.0)


def test_without_such_a_belt_the_nearest_that_were_settled(home: Home) -> None:
    keep_job(home, told("1", "accepted", 160.0, belt_width=90.0), 1)
    keep_job(home, told("2", None, 161.0, belt_width=80.0), 2)
    keep_job(home, told("3", "rework", 162.0, belt_thickness=3.0), 3)
    keep_job(home, told("4", "accepted", 163.0, belt_material="PVC 120A"), 4)
    keep_job(home, told("5", "accepted", 164.0, belt_width=None), 5)
    found = recipes.look_up(home, belt())
    assert found.exact is None
    assert [near.differs for near in found.nearest] == [
        ("20 mm wider",), ("width not told",), ("3 mm instead of 2 mm thick",),
    ]  # fmt: skip
    # Of the belt whose width nobody told only its own run counts.
    assert [near.share.of for near in found.nearest] == [1, 1, 1]


def test_an_empty_home_answers_nothing(home: Home) -> None:
    found = recipes.look_up(home, belt())
    assert (found.exact, found.nearest, found.named, found.windows) == (None, (), (), ())


def test_a_recipe_is_kept_in_versions(home: Home) -> None:
    keep_job(home, told("1", "accepted", 170.0), 9)
    job = keep_job(home, told("2", "accepted", 174.0), 5)
    kept = recipes.keep(home, job, 1, "Oven 70", "Imke Dorn")
    assert kept.setting("top_temperature") == Setting(
        field="top_temperature", value=174.0, low=170.0, high=174.0
    )
    assert (kept.version, kept.kept_by, len(kept.jobs)) == (1, "Imke Dorn", 2)
    assert recipes.keep(home, job, 1, "oven-70") == kept
    newer = keep_job(home, told("3", "accepted", 176.0), 1)
    second = recipes.keep(home, newer, 1, "Oven 70", reason="held as well")
    assert (second.version, second.name, second.reason) == (2, "Oven 70", "held as well")
    assert second.kept_by
    assert recipes.versions(home, "Oven 70") == (kept, second)
    assert recipes.look_up(home, belt()).named == (second,)


def test_it_can_be_kept_while_the_session_goes_on(home: Home) -> None:
    keep_job(home, told("1", "accepted", 170.0), 9)
    kept = recipes.keep(home, live(*told("2", "accepted", 174.0)), 1, "Oven")
    top = kept.setting("top_temperature")
    assert top
    assert (top.low, top.value) == (170.0, 174.0)
    assert kept.jobs[0] == "live"
    with pytest.raises(CannotKeep, match="came out as rejected"):
        recipes.keep(home, live(*told("2", "rejected", 174.0)), 1, "Oven")
    doubtful = told("2", None, 174.0), reading("outcome", "accepted", standing=Standing.DOUBTFUL)
    with pytest.raises(CannotKeep, match="not settled"):
        recipes.keep(home, live(*doubtful[0], doubtful[1]), 1, "Oven")


def test_other_splices_of_the_job_count_for_the_range(home: Home) -> None:
    both = (
        *told("1", "accepted", 170.0),
        reading("top_temperature", 174.0, splice=2),
        reading("outcome", "accepted", splice=2),
    )
    top = recipes.keep(home, live(*both), 2, "Oven").setting("top_temperature")
    assert top == Setting(field="top_temperature", value=174.0, low=170.0, high=174.0)


def test_a_name_is_for_one_belt(home: Home) -> None:
    recipes.keep(home, live(*told("1", "accepted")), 1, "Oven")
    thick = live(*told("2", "accepted", belt_thickness=3.0))
    with pytest.raises(CannotKeep, match="for another belt, TPU CV-120A, 2 mm"):
        recipes.keep(home, thick, 1, "Oven")
    with pytest.raises(BadValue):
        recipes.keep(home, thick, 1, "?!")
    assert [each.name for each in recipes.recipes(home)] == ["Oven"]


def test_a_retired_recipe_is_out_of_use_and_stays_readable(home: Home) -> None:
    job = live(*told("1", "accepted", 172.0))
    recipes.keep(home, job, 1, "Oven")
    hot = live(*told("2", None, 190.0))
    assert recipes.check(home, hot, 1, 1).deviations
    with pytest.raises(BadValue, match="reason"):
        recipes.retire(home, "Oven", reason=" ")
    gone = recipes.retire(home, "Oven", "platen was changed")
    assert (gone.version, gone.retired, gone.reason) == (2, True, "platen was changed")
    assert recipes.retire(home, "oven", reason="again") == gone
    assert recipes.check(home, hot, 1, 1).deviations == ()
    assert recipes.look_up(home, belt()).named == ()
    assert [each.retired for each in recipes.versions(home, "Oven")] == [False, True]
    assert recipes.keep(home, job, 1, "Oven").version == 3
    with pytest.raises(UnknownRecipe, match="no recipe 'Ovem', but 'Oven'"):
        recipes.retire(home, "Ovem", reason="gone")


def test_what_is_told_counts_before_what_is_asked_for(home: Home) -> None:
    recipes.keep(home, live(*told("1", "accepted", 172.0)), 1, "Oven")
    card = told("2", None, None)
    asking = live(*card, *asks(top_temperature=185.0))
    (deviation,) = recipes.check(home, asking, 1, 1).deviations
    assert (deviation.field, deviation.value) == ("top_temperature", 185.0)
    assert deviation.whose == "recipe Oven, version 1"
    doing = live(*card, *asks(top_temperature=185.0), reading("top_temperature", 172.0))
    assert recipes.check(home, doing, 1, 1).deviations == ()
    for value, open_ones in ((185.0, 0), (184.0, 1)):
        said = from_card("top_temperature", value, Role.MEANT)
        checked = recipes.check(home, live(*card, *asks(top_temperature=185.0), said), 1, 1)
        assert (len(checked.deviations), len(checked.meant)) == (open_ones, 1 - open_ones)
    unsure = reading("top_temperature", 172.0, standing=Standing.DOUBTFUL)
    assert recipes.settings_of(live(*card, *asks(top_temperature=185.0), unsure), 1, 1) == {
        "pressure": 2.2, "top_temperature": 185.0,
    }  # fmt: skip


def test_past_jobs_are_a_measure_but_this_one_is_not(home: Home) -> None:
    for days, top in ((9, 170.0), (8, 171.0), (7, 172.0)):
        keep_job(home, told("1", "accepted", top), days)
    job = keep_job(home, told("4", "accepted", 180.0), 1)
    (deviation,) = recipes.check(home, job, 1, 1).deviations
    assert (deviation.against, deviation.low, deviation.high) == ("past", 170.0, 172.0)


def test_a_changed_recipe_is_never_taken_silently(home: Home) -> None:
    job = live(*told("1", "accepted", 172.0))
    recipes.keep(home, job, 1, "Oven")
    path = home.recipes / "oven.jsonl"
    path.write_bytes(path.read_bytes().replace(b"172.0", b"182.0"))
    found = recipes.look_up(home, belt())
    assert found.named == ()
    assert "version 1 of the recipe 'oven' is not as it was kept" in found.unread[0]
    for refused in (
        lambda: recipes.check(home, job, 1, 1).deviations,
        lambda: recipes.keep(home, job, 1, "Oven"),
        lambda: recipes.retire(home, "Oven", reason="worn"),
        lambda: recipes.recipes(home),
    ):
        with pytest.raises(RecipeChanged):
            refused()


def test_the_firms_own_recipes_are_taken(home: Home, file: Path) -> None:
    taken = recipes.take(home, file, "Imke Dorn")
    assert [(recipe.name, new) for recipe, new in taken] == [("Oven 70", True), ("Thin", True)]
    oven, thin = recipes.recipes(home)
    assert oven.belt == Belt(
        belt_material="TPU CV-120A", belt_thickness=2.0, guide_profile="v_guided"
    )
    pressure, top = oven.settings
    assert pressure.value == pressure.low == pressure.high == pytest.approx(2.206322, abs=1e-6)
    assert top == Setting(field="top_temperature", value=172.0, low=170.0, high=175.0)
    assert (oven.press, oven.reason, oven.jobs, oven.kept_by) == (
        "P 600", "Trials of October", (), "Imke Dorn",
    )  # fmt: skip
    assert thin.setting("dwell_time") == Setting(field="dwell_time", value=180, low=180, high=180)
    assert [new for _, new in recipes.take(home, file)] == [False, False]
    file.write_text(WRITTEN.replace("3 min", "4 min"))
    assert [(r.version, new) for r, new in recipes.take(home, file)] == [(1, False), (2, True)]


@pytest.mark.parametrize(
    ("written", "instead", "why"),
    [
        ('"3 min"', '"3"', r"recipe 2 \(Thin\): settings: dwell_time: .*unit"),
        ('"3 min"', "3", r"recipe 2 \(Thin\): settings: dwell_time: .*unit"),
        ('"172 degC"', '"172"', r"recipe 1 \(Oven 70\): settings: top_temperature: .*unit"),
        ("170..175", "170..171", r"recipe 1 \(Oven 70\): settings: top_temperature: 172 degC lies"),
        ('"2 mm"', '"2"', r"recipe 1 \(Oven 70\): belt_thickness: .*unit"),
        ("dwell_time", "dwell", r"recipe 2 \(Thin\): settings: dwell is no setting of a press"),
        ('name = "Thin"', 'name = "OVEN-70"', r"recipe 2 \(OVEN-70\): the name is the same"),
        ('name = "Thin"', 'name = "!"', r"recipe 2 \(!\): name: "),
        ('name = "Thin"', "", r"recipe 2: name is missing"),
        ('"TPU"', '["TPU"]', r"recipe 2 \(Thin\): belt_material: write it as text"),
        ('belt_material = "TPU"\n', "", r"recipe 2 \(Thin\): belt_material is missing"),
        ('"3 min"', '"9999999 hours"', r"recipe 2 \(Thin\): settings: dwell_time: "),
        ("use = ", "used = ", r"recipe 1 \(Oven 70\): settings: top_temperature: write"),
        ("dwell_time = ", "# ", r"recipe 2 \(Thin\): .*give at least one setting"),
    ],
)
def test_a_wrong_entry_is_named_and_nothing_is_taken(
    home: Home, file: Path, written: str, instead: str, why: str
) -> None:
    assert written in WRITTEN
    file.write_text(WRITTEN.replace(written, instead, 1))
    with pytest.raises(BadFirmFile, match=why):
        recipes.take(home, file)
    assert recipes.recipes(home) == ()


def test_an_entry_for_another_belt_than_before_is_refused(home: Home, file: Path) -> None:
    recipes.take(home, file)
    file.write_text(WRITTEN.replace("2 mm", "3 mm").replace("3 min", "5 min"))
    with pytest.raises(BadFirmFile, match=r"recipe 1 \(Oven 70\): .*another belt, TPU CV-120A"):
        recipes.take(home, file)
    assert [each.version for each in recipes.recipes(home)] == [1, 1]


def test_many_threads_keep_and_none_is_lost(home: Home) -> None:
    jobs = [live(*told("1", "accepted", 170.0 + at)) for at in range(6)]
    recipes.look_up(home, belt())  # makes the index
    threads = [threading.Thread(target=recipes.keep, args=(home, job, 1, "Oven")) for job in jobs]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    tops = {recipe.settings[1].value for recipe in recipes.versions(home, "Oven")}
    assert tops == {170.0 + at for at in range(6)}


def test_a_belt_is_told_by_job_card_or_fields(home: Home, tmp_path: Path) -> None:
    job = keep_job(home, told("4817", "accepted"))
    assert asked(home, ["4817"]).belt == belt()
    assert asked(home, ["4817"]).open_job is None
    with pytest.raises(BadValue, match="2 cannot be a splice of this job; it tells of 1 splice"):
        asked(home, ["4817"], splice=2)
    assert asked(home, [job.id, "belt_width=1 m"]).belt == belt(belt_width=1000.0)
    assert asked(home, ["belt_material=TPU", "belt_thickness=2mm"]).belt == Belt(
        belt_material="TPU", belt_thickness=2.0
    )
    card = tmp_path / "job.toml"
    card.write_text('belt_material = "TPU"\nbelt_width = "70 mm"\n[asked]\npressure = "2 bar"\n')
    of_card = asked(home, [str(card)])
    assert of_card.belt == Belt(belt_material="TPU", belt_width=70.0)
    assert of_card.job
    assert recipes.settings_of(of_card.job, 1, 1) == {"pressure": 2.0}
    assert of_card.open_job == ""


def test_sides_of_a_comparison(home: Home) -> None:
    job = keep_job(home, told("4817", "accepted", 172.0))
    recipes.keep(home, job, 1, "Oven: 70")
    recipes.keep(home, live(*told("2", "accepted", 176.0)), 1, "Oven: 70")
    assert side(home, "oven 70").title == "Oven: 70, version 2"
    assert side(home, "Oven: 70:1").title == "Oven: 70, version 1"
    assert side(home, "4817").title == "job 4817, splice 1"
    for wanted, why in (("Oven 70:3", "versions are 1 to 2"), ("Ovem 70", "but 'Oven: 70'")):
        with pytest.raises(UnknownRecipe, match=why):
            side(home, wanted)
