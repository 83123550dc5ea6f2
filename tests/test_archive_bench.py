"""The bench of the archive: its jobs are real, its truth is true, and its figures are right."""

import json
import math
import re
import sqlite3
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index, bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.jobs.record import dump
from recorder.model.job import Job
from tests.bench.archive import bare, changing, figures, home, queries, searching, starting
from tests.bench.archive.figures import Figure, Spent
from tests.bench.archive.truth import Truth, Within

JOBS = 40


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Home:
    made = home.made(tmp_path_factory.mktemp("bench") / "home", JOBS)
    bring_up_to_date(made)
    return made


@pytest.fixture(scope="module")
def truth(archive: Home) -> Truth:
    return home.truth_of(archive)


@pytest.fixture(scope="module")
def jobs(archive: Home) -> list[Job]:
    return [folder.load() for folder in job_folders(archive)]


def test_its_jobs_are_as_the_program_writes_them(archive: Home, jobs: list[Job]) -> None:
    assert len(jobs) == JOBS
    for job in jobs[::8]:
        folder = JobFolder(archive.jobs / job.id)
        assert folder.record.read_bytes() == dump(job)
        assert folder.record_faults() == ()
        assert folder.changed_originals(job) == []
    sizes = [folder.record.stat().st_size for folder in job_folders(archive)]
    assert 100_000 < sum(sizes) / JOBS < 400_000
    assert sum(len(job.readings) for job in jobs) > 10 * JOBS


def test_its_truth_is_what_stands_in_the_records(truth: Truth, jobs: list[Job]) -> None:
    said = {
        job.id: " ".join(
            re.findall(r"\w+", " ".join(u.text for u in job.transcripts[0].utterances))
        )
        for job in jobs
    }
    for word in ("gasket", "Förder", "the"):
        holding = [
            id_ for id_, text in said.items() if re.search(rf"\b{word}", text, re.IGNORECASE)
        ]
        assert truth.found([word]) == sorted(holding, reverse=True)
        assert holding
    wide = {
        job.id
        for job in jobs
        for reading in job.readings
        if reading.field == "belt_width" and 300 <= float(reading.value) < 900
    }
    inside = Within("belt_width", 300, 900, high_open=True)
    assert truth.found(tests=[inside]) == sorted(wide, reverse=True)
    assert 0 < len(wide) < JOBS
    assert truth.readings == sum(len(job.readings) for job in jobs)


def test_a_home_that_fits_is_used_again_and_a_strange_folder_is_left(
    archive: Home, tmp_path: Path
) -> None:
    before = (archive.root / home.TRUTH).stat().st_mtime_ns
    assert home.made(archive.root, JOBS) == archive
    assert (archive.root / home.TRUTH).stat().st_mtime_ns == before
    (tmp_path / "letter.txt").write_text("keep me")
    with pytest.raises(SystemExit, match="left as it is"):
        home.made(tmp_path, JOBS)
    assert (tmp_path / "letter.txt").exists()


def test_its_queries_are_many_different_ones_of_every_kind() -> None:
    asked = queries.word_and_range(240)
    assert len(set(asked)) == 240
    assert all(one.words and one.tests for one in asked)
    assert {one.kind.split(", ")[0] for one in asked} == set(queries._WORDS)
    assert {one.kind.split(", ")[1] for one in asked} == set(queries._RANGES)
    assert (
        len([one for one in asked if one.outcome]) > 20 < len([one for one in asked if one.since])
    )
    assert asked == queries.word_and_range(240)
    assert asked != queries.word_and_range(240, seed=1)


def test_it_finds_no_mistake_in_a_sound_archive(archive: Home, truth: Truth) -> None:
    found, mistakes = searching.figures(archive, truth, 12)
    assert mistakes == []
    told = {figure.name.strip(): figure for figure in found}
    assert told["word and range, newest first, p95"].most == 50
    assert told["ranked by relevance, p95"].most == 500
    assert all(figure.value > 0 for figure in found)


def test_it_finds_a_job_that_the_index_does_not_give_or_gives_wrongly(
    archive: Home, truth: Truth
) -> None:
    asked = queries.Asked("all", words=("the",))
    expected = asked.expected(truth)
    by_hand = bare.Bare(archive.index)
    with Index.open(archive) as index:
        right = searching.newest_first(index, truth, by_hand, asked)
        assert right.wrong == ""
        assert right.by_hand.plan
        one_less = _without(truth, expected[-1])
        with pytest.raises(AssertionError, match="no plan by hand"):
            searching.newest_first(index, one_less, by_hand, asked)
        _, wrong = searching.in_order(index, one_less, asked, searching.NEWEST)
        assert "not the first that there are" in wrong
        by_width = searching.Order("belt_width", descending=True)
        assert searching.in_order(index, truth, asked, by_width)[1] == ""
        assert searching.in_order(index, _upside_down(truth), asked, by_width)[1]
    by_hand.close()


def _upside_down(truth: Truth) -> Truth:
    """A truth in which the widest belt is the narrowest."""
    changed = _without(truth, "")
    number, low, high = truth._values["belt_width"]
    changed._values = truth._values | {"belt_width": np.array([number, -low, -high])}
    return changed


def _without(truth: Truth, job: str) -> Truth:
    """A truth that does not know one of the jobs."""
    changed = object.__new__(Truth)
    changed.__dict__ |= truth.__dict__
    changed._number = truth._number
    changed.ids = [f"{id_}-unknown" if id_ == job else id_ for id_ in truth.ids]
    return changed


def test_a_query_of_many_jobs_is_counted_in_full(truth: Truth) -> None:
    none = truth.found(["the"], [Within("top_temperature", low=300)])
    assert none == []
    every = truth.found()
    assert every == truth.ids[::-1]
    assert len(every) == JOBS
    assert np.all(np.diff(truth.at) > 0)


def test_new_jobs_are_timed_in_parts_and_taken_out_again(archive: Home) -> None:
    before = changing.content(archive)
    found = changing.adding(archive, JOBS, 2)
    assert changing.content(archive) == before
    assert len(job_folders(archive)) == JOBS
    p50 = {figure.name.strip(): figure.value for figure in found if figure.name.endswith("p50")}
    parts = p50["of that its folder, p50"] + p50["its record, p50"]
    assert 0 < parts < p50["adding a job, p50"] * 2


def test_the_content_of_an_index_shows_any_change(archive: Home, tmp_path: Path) -> None:
    copy = Home.open(tmp_path)
    copy.index.write_bytes(archive.index.read_bytes())
    before = changing.content(copy)

    connection = sqlite3.connect(copy.index)
    connection.execute(
        "UPDATE jobs SET outcome = 'rework' WHERE rowid = (SELECT min(rowid) FROM jobs)"
    )
    connection.commit()
    connection.close()
    assert changing.content(copy) != before


def test_it_knows_which_packages_a_command_loads(archive: Home) -> None:
    found = starting.imported(archive, "--version")
    assert "argparse" in found
    assert "sqlalchemy" not in found


def test_figures_are_held_against_their_targets() -> None:
    slow = Figure("p95", 50.1, "ms", most=50)
    assert slow.met is False
    assert "MISSED" in str(slow)
    assert replace(slow, value=50).met is True
    assert Figure("rate", 499, "jobs/s", least=500).met is False
    assert Figure("rate", 500, "jobs/s", least=500).met is True
    assert Figure("size", 3, "MB").met is None
    json.dumps(Figure("size", 3, "MB").__dict__)


def test_percentiles_are_values_that_were_measured() -> None:
    assert figures.percentile([3, 1, 2], 50) == 2
    assert figures.percentile(range(1, 101), 95) == 95
    assert figures.percentile(range(1, 21), 95) == 19
    assert figures.percentile([7], 95) == 7
    spent = [Spent(wall_s=at / 100, cpu_s=at / 1000) for at in range(1, 21)]
    p50, p95 = figures.spread("x", spent, most_ms=189)
    assert (p50.most, p95.most) == (None, 189)
    assert math.isclose(p95.value, 190)
    assert p95.note == "CPU 19.0 ms"
    assert p95.met is False
    one, other = Spent(0.09, 0.09), Spent(0.03, 0.03)
    [ratio] = searching._ratios("x", [one.cpu_s] * 3, [other.cpu_s] * 3, most=3)
    assert ratio.met is True
    assert math.isclose(ratio.value, 3)
    assert ratio.note == "median ratio 3.00"
