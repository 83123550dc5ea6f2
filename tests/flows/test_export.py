"""Jobs for other programs: as CSV, as JSON lines, and whole."""

from __future__ import annotations

import csv
import io
import json
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.sharing.package import opened
from recorder.errors import OutputExists, OutputUnwritable
from recorder.flows.backup import restore
from recorder.flows.export import export_package, export_text
from recorder.model.job import Job
from tests.archive.sample_jobs import NOW, add_job, from_card
from tests.archive.sharing.test_backup import tree
from tests.flows.test_backup import Silent


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


@pytest.fixture
def jobs(home: Home, tmp_path: Path) -> list[Job]:
    risky = (from_card("customer", '=HYPERLINK("x")\nMüller, "Söhne"'),)
    return [
        add_job(home, tmp_path / "camera"),
        add_job(home, tmp_path / "camera", NOW + timedelta(hours=1), readings=risky),
    ]


def ids(jobs: list[Job]) -> list[str]:
    return [job.id for job in jobs]


def as_csv(
    home: Home, jobs: list[Job], target: Path, replace: bool = False
) -> list[dict[str, str]]:
    found = export_text(
        home, ids(jobs), target, "csv", units={"temperature": "degF"}, replace=replace,
        progress=Silent(),
    )  # fmt: skip
    assert (found.jobs, found.path, found.faults) == (len(jobs), target, ())
    with target.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def test_csv_is_read_back_by_another_reader(home: Home, jobs: list[Job], tmp_path: Path) -> None:
    rows = as_csv(home, jobs, tmp_path / "a.csv")
    assert [(row["job"], row["splice"]) for row in rows] == [
        (jobs[0].id, "1"), (jobs[0].id, "2"), (jobs[1].id, "2"),
    ]  # fmt: skip
    assert float(rows[1]["top_temperature_degF"]) == pytest.approx(341.6)
    assert rows[1]["bubbles"] == "false"
    assert rows[1]["created_at"] == jobs[0].created_at.isoformat()
    assert rows[2]["customer"] == '\'=HYPERLINK("x")\nMüller, "Söhne"'
    assert rows[0]["pressure_bar"] == ""


def test_json_lines_are_the_records(home: Home, jobs: list[Job], tmp_path: Path) -> None:
    out = io.StringIO()
    found = export_text(
        home, ids(jobs), out, "json", units={}, replace=False, progress=Silent()
    )  # fmt: skip
    assert (found.jobs, found.path) == (2, None)
    lines = out.getvalue().splitlines()
    assert [Job.model_validate_json(line) for line in lines] == jobs
    record = (home.jobs / jobs[0].id / "job.json").read_text(encoding="utf-8")
    assert json.loads(lines[0]) == json.loads(record)


def test_a_damaged_job_is_told_and_the_rest_goes_on(
    home: Home, jobs: list[Job], tmp_path: Path
) -> None:
    damaged = home.jobs / jobs[0].id / "job.json"
    damaged.write_bytes(b"{")
    out = io.StringIO()
    found = export_text(home, ids(jobs), out, "json", units={}, replace=False, progress=Silent())
    assert found.jobs == 1
    assert str(damaged.parent) in found.faults[0]
    assert len(out.getvalue().splitlines()) == 1
    kept = export_package(home, ids(jobs), tmp_path / "a.zip", replace=False, progress=Silent())
    assert kept.faults[0] == found.faults[0]
    assert kept.jobs == 2


def test_a_file_that_is_there_stays(home: Home, jobs: list[Job], tmp_path: Path) -> None:
    target = tmp_path / "a.csv"
    target.write_text("mine")
    with pytest.raises(OutputExists):
        as_csv(home, jobs, target)
    with pytest.raises(OutputExists):
        export_package(home, ids(jobs), target, replace=False, progress=Silent())
    assert target.read_text() == "mine"
    assert as_csv(home, jobs, target, replace=True)
    with pytest.raises(OutputUnwritable):
        as_csv(home, jobs, tmp_path / "nowhere" / "a.csv")
    assert {path.name for path in tmp_path.iterdir()} == {"a.csv", "home", "camera"}


def test_a_package_holds_the_chosen_jobs_whole_and_nothing_of_the_home(
    home: Home, jobs: list[Job], tmp_path: Path
) -> None:
    (home.identity / "signer.p12").write_bytes(b"key")
    home.settings.write_text("")
    target = tmp_path / "a.zip"
    kept = export_package(home, ids(jobs)[1:], target, replace=False, progress=Silent())
    assert (kept.kind, kept.jobs, kept.keys) == ("export", 1, ())
    with opened(target) as package:
        assert package.jobs == (jobs[1].id,)
        assert package.of_the_home() == ()
    other = Home.open(tmp_path / "other")
    assert restore(other, target, Silent()).jobs == 1
    assert tree(other.jobs / jobs[1].id) == tree(home.jobs / jobs[1].id)
