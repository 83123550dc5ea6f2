"""A session over a home with past jobs: what is asked is answered from them, and what is kept there
is found again.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import CannotKeep, HomeUnusable
from recorder.flows.knowhow import firm, recipes
from recorder.flows.live import shelving
from recorder.flows.live.shelving import Shelving
from recorder.knowhow.recipes.answer import RecipeAnswer
from recorder.live.view import Said
from recorder.model.belt import Belt
from recorder.model.job import Job
from recorder.model.reading import Reading, Role
from tests.archive.sample_jobs import NOW, from_card, reading
from tests.flows.knowhow.past_jobs import BELT, keep_job, told
from tests.flows.live.scripted import Page, Script, sessions

INVENTORY = """
[[press]]
name = "P 600"
last_check = 2025-01-10
check_days = 90

[[template]]
name = "T30-10"
splice_type = "finger"
finger_length = "30 mm"
finger_pitch = "10 mm"
"""


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Three jobs on one belt, of which one was too hot."""
    made = Home.open(tmp_path / "home")
    for number, (outcome, top) in enumerate(
        (("accepted", 172.0), ("accepted", 174.0), ("rework", 185.0), ("accepted", 173.0))
    ):
        keep_job(made, told(str(4800 + number), outcome, top=top), days=10 + number)
    file = tmp_path / "inventory.toml"
    file.write_text(INVENTORY)
    firm.take_inventory(made, file)
    return made


def here(*more: Reading) -> Job:
    """A live job on that belt."""
    belt = (from_card(name, value) for name, value in BELT.items())
    return Job(id="now", created_at=NOW, version="0", readings=(*belt, *more))


def test_by_voice_over_a_real_archive(home: Home) -> None:
    script = Script(
        [
            "What did we use on this belt last time?", "Which template fits this belt?",
            "Keep this as recipe Oven 70.", "Yes.", "What is the recipe?",
        ]
    )  # fmt: skip
    with sessions(home, script) as live:
        session = live.begin()
        page = Page(session)
        page.open()
        for field, text in BELT.items():
            session.enter(field, f"{text} mm" if isinstance(text, float) else text)
        page.say(1)
        page.wait(lambda: "Three of four accepted" in page.session.view().lines[-1].text)
        known = page.session.view().known
        assert known is not None
        assert known.head == ("Setting", "Accepted", "Rework")
        page.say(2)
        page.wait(lambda: any(each.text.startswith("Template T30-10") for each in lines(page)))
        session.enter("top_temperature", "173 degC")
        session.enter("outcome", "accepted")
        page.say(3)
        page.wait(lambda: page.session.view().question is not None)
        page.say(4)
        page.wait(lambda: recipes.recipes(home))
        page.say(5)
        page.wait(lambda: any(each.text.startswith("Recipe Oven 70") for each in lines(page)))
    (kept,) = recipes.recipes(home)
    assert (kept.name, kept.kept_by) == ("Oven 70", "Imke Dorn")
    assert [each.value for each in kept.settings] == [173.0]
    assert kept.jobs[0] == session.job_id


def lines(page: Page) -> list[Said]:
    return [each for each in page.session.view().lines if each.who == "recorder"]


def test_what_was_found_is_not_looked_up_at_every_tick(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked = []
    real = recipes.look_up

    def look_up(asked_of: Home, belt: Belt, but: str | None = None) -> RecipeAnswer:
        looked.append(belt)
        return real(asked_of, belt, but)

    monkeypatch.setattr(recipes, "look_up", look_up)
    shelf = Shelving(home, "Imke Dorn")
    job = here(from_card("top_temperature", 190.0, Role.ASKED))
    for _ in range(5):
        (found,) = shelf.deviations(job, 1, 1)
    assert (found.value, found.low, found.high, found.against) == (190.0, 172.0, 174.0, "past")
    assert len(looked) == 1
    assert shelf.deviations(here(reading("top_temperature", 173.0)), 1, 1) == ()
    assert len(looked) == 1
    monkeypatch.setattr(shelving, "FRESH_S", 0.0)
    shelf.recipes(job, 1)
    assert len(looked) == 2


def test_an_error_is_not_met_at_every_tick_either(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked = []

    def fail(*given: object, **more: object) -> None:
        looked.append(1)
        raise HomeUnusable(path=home.root, detail="the disk does not answer")

    monkeypatch.setattr(recipes, "look_up", fail)
    shelf = Shelving(home, "")
    for _ in range(3):
        with pytest.raises(HomeUnusable):
            shelf.recipes(here(), 1)
    assert len(looked) == 1


def test_only_the_press_and_the_template_of_the_job_are_told_of(home: Home) -> None:
    shelf = Shelving(home, "")
    assert shelf.checks(here(), 1) == ()
    (check,) = shelf.checks(here(from_card("press", "p  600")), 1)
    assert check.name == "P 600"
    assert shelf.checks(here(from_card("press", "P 900")), 1) == ()
    assert shelf.drifts(here(), 1) == ()
    assert shelf.drifts(here(from_card("press", "P 600")), 1) == ()


def test_a_splice_that_failed_is_not_kept(home: Home) -> None:
    shelf = Shelving(home, "")
    job = here(reading("top_temperature", 173.0), reading("outcome", "rework"))
    with pytest.raises(CannotKeep):
        shelf.keep(job, 1, "Oven 70")
    assert recipes.recipes(home) == ()
