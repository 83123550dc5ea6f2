import multiprocessing
import os
import signal
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index import reading
from recorder.archive.index.index import Index
from recorder.archive.jobs.record import dump
from tests.archive.index.index_content import content
from tests.archive.sample_jobs import synthetic_job

JOBS = 24


@pytest.fixture
def jobs(home: Home) -> list[str]:
    ids = []
    for number in range(JOBS):
        job = synthetic_job(number)
        (home.jobs / job.id).mkdir()
        (home.jobs / job.id / "job.json").write_bytes(dump(job) if number != 5 else b"{")
        ids.append(job.id)
    return sorted(ids)


@pytest.fixture
def helped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MANY_JOBS", 2)
    monkeypatch.setattr(reading, "BATCH_JOBS", 3)
    monkeypatch.setattr("os.cpu_count", lambda: 2)


def test_helpers_read_what_one_process_reads(
    home: Home, jobs: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    Index.rebuild(home)
    alone = content(home)
    monkeypatch.setattr(reading, "MANY_JOBS", 2)
    monkeypatch.setattr(reading, "BATCH_JOBS", 3)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    seen: list[int] = []
    report = Index.rebuild(home, lambda done, of: seen.append(done))
    assert content(home) == alone
    assert (report.count, len(report.damaged)) == (JOBS - 1, 1)
    assert seen == list(range(1, JOBS + 1))
    assert multiprocessing.active_children() == []


@pytest.mark.usefixtures("helped")
def test_the_work_of_a_helper_that_dies_is_done(home: Home, jobs: list[str]) -> None:
    batches = reading.read_all(home.jobs, jobs)
    found = [next(batches)]
    for helper in multiprocessing.active_children():
        os.kill(helper.pid or 0, signal.SIGKILL)
    found += batches
    assert [entry.id for batch in found for entry in batch.entries] == [
        job_id for job_id in jobs if job_id != synthetic_job(5).id
    ]


@pytest.mark.usefixtures("helped")
def test_helpers_end_when_nobody_listens(home: Home, jobs: list[str]) -> None:
    batches = reading.read_all(home.jobs, jobs)
    next(batches)
    helpers = multiprocessing.active_children()
    assert len(helpers) == 2
    batches.close()  # type: ignore[attr-defined]
    assert not any(helper.is_alive() for helper in helpers)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    found = reading.read(tmp_path, ["gone"])
    assert found.entries == []
    assert found.damaged == [(tmp_path / "gone", "job.json is missing")]
