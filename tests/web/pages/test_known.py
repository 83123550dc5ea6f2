"""Which job an address means."""

from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import UnknownJob
from recorder.web.pages.known import known_job
from tests.report import jobs

ODD = (
    "", ".", "..", "../jobs", "%2e%2e", "a/b", "a\\b", "a\0", "last", "no-such-job", "a" * 81,
    "20260304-061500-E5B4", "20260304-061500-e5b4\n", "２０２６",
)  # fmt: skip


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    home = Home.open(tmp_path_factory.mktemp("known") / "home")
    jobs.into_home(home, jobs.no_photo)
    return home


def test_a_job_that_exists_is_known_by_its_whole_id(home: Home) -> None:
    folder = known_job(home, "20260304-061500-e5b4")
    assert folder.load().title() == "0077, Veldt Sugar"


@pytest.mark.parametrize("odd", ODD)
def test_nothing_else_is_a_job(home: Home, odd: str) -> None:
    with pytest.raises(UnknownJob):
        known_job(home, odd)


def test_the_beginning_of_an_id_is_not_enough(home: Home) -> None:
    with pytest.raises(UnknownJob):
        known_job(home, "20260304-061500")


def test_a_link_is_no_job(home: Home, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "job.json").write_text("{}")
    (home.jobs / "linked").symlink_to(elsewhere)
    with pytest.raises(UnknownJob):
        known_job(home, "linked")
