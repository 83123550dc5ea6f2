"""A whole home to one file and back, also while other processes are at work."""

from __future__ import annotations

import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.errors import BadPackage, HomeUnusable, JobsHere
from recorder.flows import backup as flow
from recorder.flows.backup import backup, look, restore
from tests.archive.index.index_content import content
from tests.archive.sample_jobs import NOW, add_job
from tests.archive.sharing.packages import GOOD, craft, told
from tests.archive.sharing.test_backup import tree

ROOT = Path(__file__).parents[2]

# Confirms readings for ever; tells each one that was acknowledged.
WORKER = """
import itertools, sys, time
from pathlib import Path
from recorder.archive.jobs.folder import JobFolder
from tests.archive.sample_jobs import reading
folder = JobFolder(Path(sys.argv[1]))
for count in itertools.count(1):
    told = reading("press", f"P{count}")
    folder.update(lambda job: job.model_copy(update={"readings": (*job.readings, told)}))
    print(count, flush=True)
    time.sleep(0.01)  # a person types slower
"""


class Silent:
    """Progress that is kept: the stages, and the last share of each."""

    def __init__(self) -> None:
        self.stages: dict[str, float] = {}

    def stage(self, text: str) -> None:
        self.stages[text] = 0.0

    def share(self, done: float) -> None:
        last = list(self.stages)[-1]
        assert self.stages[last] <= done <= 1.0
        self.stages[last] = done


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "home")


def written(home: Home, target: Path, keys: bool = True, replace: bool = False) -> flow.Kept:
    return backup(home, target, keys=keys, replace=replace, progress=Silent())


def test_a_restored_home_is_the_same_home(home: Home, tmp_path: Path) -> None:
    for hour in range(3):
        add_job(home, tmp_path / "camera", NOW + timedelta(hours=hour))
    home.settings.write_text('[report]\nfirm = "Crann & Tinbrook"\nlogo = "brand/logo.png"\n')
    (home.root / "brand").mkdir()
    (home.root / "brand" / "logo.png").write_bytes(b"png")
    (home.identity / "signer.p12").write_bytes(b"key")
    Index.rebuild(home)
    done = Silent()
    kept = backup(home, tmp_path / "a.zip", keys=True, replace=False, progress=done)
    assert done.stages["writing a.zip and reading it back"] == 1.0
    assert (kept.jobs, kept.kind, kept.faults, kept.remarks) == (3, "backup", (), ())
    assert kept.keys == ("home/identity/signer.p12",)
    assert look(tmp_path / "a.zip", Silent()) == kept
    other = Home.open(tmp_path / "other")
    found = restore(other, tmp_path / "a.zip", Silent())
    assert (found.jobs, found.stayed, found.faults, found.damaged) == (3, (), (), ())
    assert tree(other.jobs) == tree(home.jobs)
    assert tree(other.root).keys() - {"index.sqlite-shm", "index.sqlite-wal"} >= {
        "settings.toml", "brand/logo.png", "identity/signer.p12", "index.sqlite",
    }  # fmt: skip
    assert content(other) == content(home)


def test_a_backup_while_another_process_confirms(home: Home, tmp_path: Path) -> None:
    job = add_job(home, tmp_path / "camera")
    worker = subprocess.Popen(
        [sys.executable, "-c", WORKER, str(home.jobs / job.id)], cwd=ROOT, stdout=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    assert worker.stdout is not None
    try:
        for number in range(3):
            acknowledged = int(worker.stdout.readline())
            kept = written(home, tmp_path / f"{number}.zip")
            assert kept.faults == ()
            other = Home.open(tmp_path / f"other {number}")
            restore(other, kept.path, Silent())
            folder = JobFolder(other.jobs / job.id)
            assert folder.record_faults() == ()
            values = [reading.value for reading in folder.load().readings]
            assert values.count(f"P{acknowledged}") == 1
    finally:
        worker.kill()
        worker.wait()
        worker.stdout.close()


def test_what_was_confirmed_meanwhile_is_in_the_next(home: Home, tmp_path: Path) -> None:
    job = add_job(home, tmp_path / "camera")
    first = written(home, tmp_path / "a.zip")
    JobFolder(home.jobs / job.id).update(lambda known: known.model_copy(update={"notes": ()}))
    second = written(home, tmp_path / "a.zip", replace=True)
    assert first.sha256 != second.sha256
    other = Home.open(tmp_path / "other")
    restore(other, second.path, Silent())
    assert JobFolder(other.jobs / job.id).load().notes == ()


def test_a_backup_in_the_home_does_not_hold_the_one_before(home: Home, tmp_path: Path) -> None:
    add_job(home, tmp_path / "camera")
    target = home.cameras / "a.zip"
    home.cameras.mkdir()
    first = written(home, target)
    assert written(home, target, replace=True).files == first.files


def test_what_lies_elsewhere_or_stays_is_said(home: Home, tmp_path: Path) -> None:
    logo = tmp_path / "logo.png"
    home.settings.write_text(f"[report]\nlogo = '{logo}'\n")
    (home.identity / "signer.p12").write_bytes(b"key")
    kept = written(home, tmp_path / "a.zip", keys=False)
    assert kept.keys == ()
    assert any(str(logo) in remark for remark in kept.remarks)
    assert any("keys" in remark for remark in kept.remarks)
    home.settings.write_text("[report\n")
    kept = written(home, tmp_path / "b.zip")
    assert len(kept.faults) == 1
    assert kept.files == 2  # also settings that cannot be read, and the key


def test_a_home_with_jobs_is_not_filled(home: Home, tmp_path: Path) -> None:
    add_job(home, tmp_path / "camera")
    kept = written(home, tmp_path / "a.zip")
    with pytest.raises(JobsHere, match="archive import"):
        restore(home, kept.path, Silent())


def test_nothing_is_restored_from_a_package_that_is_not_whole(home: Home, tmp_path: Path) -> None:
    bad = ("jobs/20261126-204530-3f9a/media/b.flac", b"sound")
    own = ("home/settings.toml", b"")
    files = [own, *GOOD, bad]
    package = craft(tmp_path / "a.zip", files, told([own, *GOOD, (bad[0], b"noise")]))
    with pytest.raises(BadPackage, match=r"b\.flac"):
        restore(home, package, Silent())
    assert job_folders(home) == []
    assert not home.settings.exists()


def test_more_than_the_disk_holds_is_not_begun(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Full:
        free = 10

    monkeypatch.setattr(flow.shutil, "disk_usage", lambda path: Full)
    with pytest.raises(HomeUnusable, match="are needed"):
        restore(home, craft(tmp_path / "a.zip"), Silent())


def test_a_damaged_job_comes_back_as_it_was_and_is_told(home: Home, tmp_path: Path) -> None:
    job = add_job(home, tmp_path / "camera")
    (home.jobs / job.id / "job.json").write_bytes(b"{")
    kept = written(home, tmp_path / "a.zip")
    assert kept.jobs == 1
    assert kept.faults
    other = Home.open(tmp_path / "other")
    found = restore(other, kept.path, Silent())
    assert found.jobs == 1
    assert found.damaged
    assert found.faults == kept.faults
    assert tree(other.jobs) == tree(home.jobs)
