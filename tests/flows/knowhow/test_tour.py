"""The firm of the README's tour: its lists and the cards of its past jobs are taken as they are."""

from pathlib import Path

from demo_media import past_jobs
from recorder.archive.disk.home import Home
from recorder.flows import jobcard
from recorder.flows.knowhow import firm, recipes


def test_its_lists_are_taken(tmp_path: Path) -> None:
    home = Home.open(tmp_path / "home")
    assert len(firm.take_inventory(home, past_jobs.LISTS / "inventory.toml").now.templates) == 3
    assert firm.take_conveyors(home, past_jobs.LISTS / "conveyors.toml").now
    assert recipes.take_windows(home, past_jobs.LISTS / "windows.toml")


def test_the_cards_of_its_past_jobs_are_read(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    (tmp_path / "after.jpg").touch()
    outcomes = []
    for past in past_jobs.pasts():
        path.write_text(past.card, encoding="utf-8")
        told = {each.field: each.value for each in jobcard.read(path).readings}
        outcomes += [told["outcome"]] * (told["press"] == "P2")
    assert (len(outcomes), outcomes.count("accepted")) == (39, 36)
