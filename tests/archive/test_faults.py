"""What befalls a whole home: it is copied to another machine, or the clock goes back."""

import os
import platform
import shutil
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs import events, writing
from recorder.archive.jobs.folder import JobFolder
from recorder.flows import archive
from tests.archive.finding.asking import search
from tests.archive.sample_jobs import NOW, add_job, reading
from tests.bench.faults_home import held, litter, lost
from tests.bench.faults_kill import Quiet, history_gaps


def found(home: Home) -> set[str]:
    with Index.open(home) as index:
        return {hit.id for hit in search(index)}


def tell(folder: JobFolder, value: str) -> None:
    told = reading("press", value)
    folder.update(lambda job: job.model_copy(update={"readings": (*job.readings, told)}))


def clock(fast_s: float) -> type[datetime]:
    class Clock(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return datetime.now(tz) + timedelta(seconds=fast_s)

    return Clock


def sound(home: Home) -> None:
    assert archive.check(home, Quiet()).faults == ()
    assert history_gaps(home.root) == []
    assert litter(home.root) == []


def test_a_home_goes_on_at_another_place_of_another_machine(
    home: Home, source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = add_job(home, source)
    before = held(home.root)
    assert found(home) == {job.id}
    place = tmp_path / "stick"
    shutil.copytree(home.root, place / "home of the firm")
    shutil.rmtree(home.root)
    there = Home.open(place / "home of the firm")
    sound(there)
    monkeypatch.setattr(platform, "node", lambda: "another-van")
    folder = JobFolder(there.jobs / job.id)
    tell(folder, "P9")
    assert found(there) == {job.id}
    devices = [event.who.device for event in events.read(folder.events).events]
    assert devices[-1] == "another-van"
    assert "another-van" not in devices[:-1]
    assert lost(before, held(there.root)) == []
    sound(there)


def test_a_clock_that_goes_back_is_kept_as_it_was_and_harms_nothing(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    before = held(home.root)
    for value, fast_s in (("P1", 0.0), ("P2", -2e8), ("P3", 1e8), ("P4", -3e8)):
        monkeypatch.setattr(writing, "datetime", clock(fast_s))
        tell(folder, value)
    times = [event.at for event in events.read(folder.events).events[-4:]]
    assert sorted(times) == [times[3], times[1], times[0], times[2]]
    assert [r.value for r in folder.load().readings[-4:]] == ["P1", "P2", "P3", "P4"]
    earlier = add_job(home, source, NOW - timedelta(days=4000))
    assert found(home) == {folder.id, earlier.id}
    assert lost(before, held(home.root)) == []
    sound(home)


@pytest.mark.parametrize("name", ["job.json", "events.jsonl"])
def test_a_pipe_in_the_place_of_a_file_is_told_and_not_waited_for(
    home: Home, source: Path, name: str
) -> None:
    job, other = add_job(home, source), add_job(home, source, NOW + timedelta(days=1))
    (home.jobs / job.id / name).unlink()
    os.mkfifo(home.jobs / job.id / name)
    told = [fault for fault in archive.check(home, Quiet()).faults if "regular file" in fault]
    assert told
    assert all(job.id in fault for fault in told)
    assert other.id in found(home)
