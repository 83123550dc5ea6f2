"""Commands that meet each other at one job."""

import re
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.errors import Busy, InputRefused
from recorder.flows import archive
from recorder.flows import process as flow
from recorder.settings import Settings
from tests.archive.sample_jobs import add_job
from tests.bench import faults_home
from tests.bench.faults_kill import Quiet, history_gaps
from tests.bench.faults_other import at_once


def test_two_people_confirm_the_same_job_at_once(tmp_path: Path) -> None:
    home = Home.open(tmp_path / "home")
    add_job(home, tmp_path / "files")
    Index.rebuild(home)
    before = faults_home.held(home.root)
    ends = at_once(
        home.root,
        ["confirm", "4817", "--set=dwell_time=3 min", "--set=press=P2"],
        ["confirm", "4817", "--accept=bottom_temperature", "--set=ambient_temperature=21 degC"],
    )
    told = [field for ran in ends for field in re.findall(r"kept: (\w+)", ran.out)]
    fields = {"dwell_time", "press", "bottom_temperature", "ambient_temperature"}
    assert set(told) == fields, [ran.shown for ran in ends]
    ((_, job),) = faults_home.jobs(home.root).values()
    assert {reading.field for reading in job.readings[-4:]} == fields
    assert faults_home.lost(before, faults_home.held(home.root)) == []
    assert history_gaps(home.root) == []
    assert archive.check(home, Quiet()).faults == ()


def test_who_processes_the_same_files_at_once_is_asked_to_wait(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = Home.open(tmp_path / "home")
    for name in ("source", "another name"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "note.wav").write_bytes(b"sound")
    met: list[str] = []

    def hears(path: Path, *rest: object) -> None:
        with pytest.raises(Busy) as told:
            flow.process(home, tmp_path / "another name", Settings(), Quiet())
        met.append(str(told.value))
        raise InputRefused(path=path, detail="no sound")

    monkeypatch.setattr(flow, "transcribe", hears)
    monkeypatch.setattr(flow.draft, "write", lambda *_: None)
    done = flow.process(home, tmp_path / "source", Settings(), Quiet())
    assert "another process" in met[0]
    assert [path.name for path in home.jobs.iterdir()] == [done.job.id]
