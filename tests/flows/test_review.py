"""Answers of a person to a job that was recorded."""

import shutil
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.errors import BadValue, JobChanged, UnknownField
from recorder.flows import review
from recorder.model.fields import FIELDS, Kind
from recorder.model.job import Job, in_force, to_confirm
from recorder.model.reading import Reading, Standing
from tests.report import jobs


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Home:
    home = Home.open(tmp_path_factory.mktemp("review") / "home")
    jobs.into_home(home, jobs.doubtful, megapixels=0.2)
    return home


@pytest.fixture
def home(made: Home, tmp_path: Path) -> Home:
    return Home(Path(shutil.copytree(made.root, tmp_path / "home")))


@pytest.fixture
def folder(home: Home) -> JobFolder:
    return job_folders(home)[0]


def place_of(job: Job, field: str) -> int:
    return max(place for place, reading in enumerate(job.readings) if reading.field == field)


def test_yes_confirms_the_value_and_the_history_stays(home: Home, folder: JobFolder) -> None:
    before = folder.load()
    job = review.say_yes(home, folder, place_of(before, "bottom_temperature"))
    held = in_force(job.readings)["bottom_temperature"]
    assert (held.value, held.standing) == (160.0, Standing.CONFIRMED)
    assert job.readings[:-1] == before.readings
    assert len(to_confirm(job)) == len(to_confirm(before)) - 1


def test_a_candidate_is_chosen_by_its_number(home: Home, folder: JobFolder) -> None:
    job = review.choose(home, folder, place_of(folder.load(), "bottom_temperature"), 1)
    assert in_force(job.readings)["bottom_temperature"].value == 168.0


def test_a_candidate_that_is_not_offered_is_refused(home: Home, folder: JobFolder) -> None:
    before = folder.load()
    with pytest.raises(BadValue, match="choose one of those"):
        review.choose(home, folder, place_of(before, "bottom_temperature"), 2)
    assert folder.load() == before


def test_another_value_is_typed_and_found_by_search(home: Home, folder: JobFolder) -> None:
    job = review.replace(home, folder, place_of(folder.load(), "dwell_time"), "4 min")
    assert in_force(job.readings)["dwell_time"].value == 240.0
    with Index.open(home) as index:
        assert not index.differences(job)


def test_an_answer_to_what_others_settled_takes_nothing_back(home: Home, folder: JobFolder) -> None:
    place = place_of(folder.load(), "bottom_temperature")
    kept = review.replace(home, folder, place, "165 degC")
    with pytest.raises(JobChanged):
        review.say_yes(home, folder, place)
    assert folder.load() == kept


@pytest.mark.parametrize("place", [-1, 10_000])
def test_a_place_that_the_job_has_not_is_refused(home: Home, folder: JobFolder, place: int) -> None:
    with pytest.raises(JobChanged):
        review.say_yes(home, folder, place)


def test_a_value_that_nobody_gave_is_entered_once(home: Home, folder: JobFolder) -> None:
    job = review.enter(home, folder, "cool_down_temperature", "55 degC", 1, 1)
    assert in_force(job.readings)["cool_down_temperature"].standing is Standing.CONFIRMED
    with pytest.raises(JobChanged):
        review.enter(home, folder, "cool_down_temperature", "60 degC", 1, 1)


@pytest.mark.parametrize(("splice", "run"), [(2, 1), (1, 2), (0, 1), (-1, -1)])
def test_a_splice_or_run_that_the_job_has_not_gets_no_value(
    home: Home, folder: JobFolder, splice: int, run: int
) -> None:
    with pytest.raises(BadValue):
        review.enter(home, folder, "cool_down_temperature", "55 degC", splice, run)


def test_a_field_that_is_none_is_refused(home: Home, folder: JobFolder) -> None:
    with pytest.raises(UnknownField):
        review.enter(home, folder, "password", "x", 1, 1)


CANDIDATES = {
    Kind.QUANTITY: 31.25, Kind.COUNT: 3.0, Kind.FLAG: False, Kind.TEXT: "blue PU 2.0",
    Kind.TIME: "2026-03-04T11:20:00+01:00",
}  # fmt: skip


@pytest.mark.parametrize("field", FIELDS)
def test_a_candidate_of_any_field_is_kept_as_it_is(
    home: Home, folder: JobFolder, field: str
) -> None:
    """What is offered can be chosen, whatever kind of value it is."""
    row = FIELDS[field]
    wanted = row.choices[-1] if row.kind is Kind.CHOICE else CANDIDATES[row.kind]
    model = next(r for r in folder.load().readings if r.field == "bottom_temperature")
    doubt = Reading(
        field=field,
        value=row.choices[0] if row.kind is Kind.CHOICE else wanted,
        unit=row.unit,
        standing=Standing.DOUBTFUL,
        evidence=model.evidence,
        candidates=(wanted,),
    )
    job = folder.update(lambda job: job.model_copy(update={"readings": (*job.readings, doubt)}))
    kept = review.choose(home, folder, len(job.readings) - 1, 0).readings[-1]
    assert kept.value == (pytest.approx(wanted) if isinstance(wanted, float) else wanted)
