from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.finding.lookup import find_job
from recorder.errors import AmbiguousJob, IndexDamaged, UnknownJob
from tests.archive.sample_jobs import NOW, add_job, from_card


def test_by_id_beginning_number_and_last(home: Home, source: Path) -> None:
    first = add_job(home, source, readings=(from_card("job_number", "AB-17"),))
    last = add_job(home, source, NOW + timedelta(days=1), readings=())
    assert find_job(home, first.id).path == home.jobs / first.id
    assert find_job(home, "20261125").id == first.id
    assert find_job(home, "ab-17 ").id == first.id
    assert find_job(home, "last").id == last.id


def test_a_job_number_wins_over_a_beginning(home: Home, source: Path) -> None:
    add_job(home, source, readings=())
    numbered = add_job(
        home, source, NOW - timedelta(days=400), readings=(from_card("job_number", "2026"),)
    )
    assert find_job(home, "2026").id == numbered.id


def test_several_are_listed_newest_first(home: Home, source: Path) -> None:
    made = [add_job(home, source, NOW + timedelta(hours=n)) for n in range(7)]
    for wanted in ("4817", "2026"):
        with pytest.raises(AmbiguousJob) as caught:
            find_job(home, wanted)
        newest = ", ".join(job.id for job in reversed(made[2:]))
        assert f"{newest} and 2 more" in str(caught.value)


@pytest.mark.parametrize("wanted", ["", "nothing", "../jobs", "/etc", "4", "\ud800", "last "])
def test_nothing_answers(home: Home, source: Path, wanted: str) -> None:
    add_job(home, source)
    with pytest.raises(UnknownJob):
        find_job(home, wanted)


def test_nothing_is_last_in_an_empty_home(home: Home) -> None:
    with pytest.raises(UnknownJob):
        find_job(home, "last")


def test_an_id_needs_no_index(home: Home, source: Path) -> None:
    job = add_job(home, source)
    home.index.write_bytes(b"no database at all" * 100)
    assert find_job(home, job.id).id == job.id
    with pytest.raises(IndexDamaged):
        find_job(home, "4817")
