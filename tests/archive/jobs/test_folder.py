import hashlib
import json
import multiprocessing
import os
import shutil
import time
from datetime import datetime, timedelta, timezone
from multiprocessing.synchronize import Barrier
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import find_by_originals, job_folders
from recorder.archive.jobs.record import dump
from recorder.errors import (
    BadJobFolder,
    FileMissing,
    HomeUnusable,
    InputRefused,
    JobChanged,
    JobTooNew,
    OutputUnwritable,
)
from recorder.model.job import Job, MediaKind
from tests.archive.sample_jobs import NOW, add_job, media_files, reading

KINDS = [MediaKind.AUDIO, MediaKind.PHOTO]


def _state(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        str(path.relative_to(folder)): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_new_job_keeps_the_originals_and_understands_nothing(home: Home, source: Path) -> None:
    files = media_files(source)
    os.utime(files[0], ns=(1_700_000_000_000_000_000, 1_600_000_000_123_456_789))
    before = _state(source)
    folder, job = JobFolder.create(home, files, KINDS, NOW)
    assert _state(source) == before
    assert folder.path == home.jobs / job.id
    assert job == folder.load()
    assert not job.complete
    assert job.created_at == NOW
    assert [media.name for media in job.media] == ["narration.flac", "after.jpg"]
    assert [media.kind for media in job.media] == KINDS
    for media, file in zip(job.media, files, strict=True):
        kept = folder.path_of(media.path)
        assert kept.read_bytes() == file.read_bytes()
        assert kept.stat().st_mtime_ns == file.stat().st_mtime_ns
        assert media.sha256 == hashlib.sha256(file.read_bytes()).hexdigest()
        assert media.size_bytes == file.stat().st_size
        assert kept.name == f"{media.sha256[:12]}_{file.name}"
    assert sorted(p.name for p in folder.path.iterdir()) == [
        "derived",
        "events.jsonl",
        "job.json",
        "media",
        "reports",
    ]
    assert sorted(p.name for p in home.jobs.iterdir()) == [job.id]


def test_the_id_is_the_time_in_utc_and_a_digest(home: Home, source: Path) -> None:
    local = NOW.astimezone(timezone(timedelta(hours=2)))
    files = media_files(source)
    _, job = JobFolder.create(home, files, KINDS, local)
    hashes = sorted(hashlib.sha256(file.read_bytes()).hexdigest() for file in files)
    digest = hashlib.sha256("\n".join(hashes).encode()).hexdigest()
    assert job.id == f"20261125-204530-{digest[:4]}"
    _, second = JobFolder.create(home, files, KINDS, NOW)
    _, third = JobFolder.create(home, files, KINDS, NOW)
    assert [second.id, third.id] == [f"{job.id}-2", f"{job.id}-3"]


def test_the_same_files_are_the_same_job(home: Home, source: Path, tmp_path: Path) -> None:
    files = media_files(source)
    assert find_by_originals(home, files) is None
    _, job = JobFolder.create(home, files, KINDS, NOW)
    renamed = tmp_path / "other name.flac"
    shutil.copy(files[0], renamed)
    assert find_by_originals(home, [files[1], renamed]) == job
    assert find_by_originals(home, files[:1]) is None
    _, again = JobFolder.create(home, files, KINDS, NOW)
    found = find_by_originals(home, files)
    assert found is not None
    assert found.id == again.id
    (home.jobs / again.id / "job.json").write_bytes(b"{")
    assert find_by_originals(home, files) == job


def test_what_cannot_be_copied_leaves_no_job(home: Home, source: Path) -> None:
    files = media_files(source)
    with pytest.raises(FileMissing, match="nowhere"):
        JobFolder.create(home, [files[0], source / "nowhere"], KINDS, NOW)
    with pytest.raises(InputRefused, match="not a regular file"):
        JobFolder.create(home, [files[0], source], KINDS, NOW)
    os.mkfifo(source / "pipe")
    with pytest.raises(InputRefused, match="not a regular file"):
        JobFolder.create(home, [files[0], source / "pipe"], KINDS, NOW)
    assert list(home.jobs.iterdir()) == []


def test_other_files_are_another_job_whatever_the_id(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("recorder.archive.jobs.names.mark", lambda _: "3f9a")
    JobFolder.create(home, media_files(source), KINDS, NOW)
    assert find_by_originals(home, media_files(source, "other")) is None


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_no_job(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    files = media_files(source)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, full)
    with pytest.raises(HomeUnusable, match="No space left"):
        JobFolder.create(home, files, KINDS, NOW)
    assert list(home.jobs.iterdir()) == []


def test_a_job_comes_back_as_it_was_saved(home: Home, source: Path) -> None:
    job = add_job(home, source)
    folder = JobFolder(home.jobs / job.id)
    assert folder.load() == job
    content = folder.record.read_bytes()
    assert dump(folder.load()) == content
    assert "Larkfield Bakery" in content.decode()
    assert json.loads(content)["readings"][0]["value"] == "4817"
    folder.save(job)
    assert folder.record.read_bytes() == content


def test_a_failed_save_leaves_the_old_record(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = add_job(home, source)
    folder = JobFolder(home.jobs / job.id)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputUnwritable, match="No space left"):
        folder.save(job.model_copy(update={"readings": (*job.readings, reading("press", "P2"))}))
    monkeypatch.undo()
    assert folder.load() == job
    assert [p.name for p in home.jobs.iterdir()] == [job.id]


def test_nobody_overwrites_readings_that_he_has_not_seen(home: Home, source: Path) -> None:
    job = add_job(home, source)
    folder = JobFolder(home.jobs / job.id)
    mine, others = reading("press", "P2"), reading("press", "P1")
    folder.save(job.model_copy(update={"readings": (*job.readings, others)}))
    with pytest.raises(JobChanged, match="nothing was overwritten"):
        folder.save(job.model_copy(update={"readings": (*job.readings, mine)}))
    assert folder.load().readings[-1] == others
    folder.update(lambda known: known.model_copy(update={"readings": (*known.readings, mine)}))
    assert folder.load().readings[-2:] == (others, mine)


def test_an_unfinished_job_may_be_understood_anew(home: Home, source: Path) -> None:
    job = add_job(home, source, complete=False)
    folder = JobFolder(home.jobs / job.id)
    anew = job.model_copy(update={"readings": (reading("press", "P2"),), "complete": True})
    folder.save(anew)
    assert folder.load() == anew


def _add_readings(path: Path, press: str, times: int, start: Barrier) -> None:
    def tell(job: Job) -> Job:
        time.sleep(0.002)  # so that the two would meet
        return job.model_copy(update={"readings": (*job.readings, reading("press", press))})

    start.wait(20)
    for _ in range(times):
        JobFolder(path).update(tell)


def test_two_processes_lose_nothing(home: Home, source: Path) -> None:
    job = add_job(home, source, readings=())
    spawn = multiprocessing.get_context("spawn")
    start = spawn.Barrier(2)
    writers = [
        spawn.Process(target=_add_readings, args=(home.jobs / job.id, press, 20, start))
        for press in ("P1", "P2")
    ]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    told = [r.value for r in JobFolder(home.jobs / job.id).load().readings]
    assert sorted(told) == ["P1"] * 20 + ["P2"] * 20


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "job.json"),
        (b'{"id": "x"', "job.json"),
        (b"\xff\xfe\x00", "job.json"),
        (b"[1, 2]", "job.json"),
        (b"[" * 100_000, "job.json"),
        (b'{"id": "x", "created_at": "2026-11-25T00:00:00Z", "version": "1"}', "belongs to job x"),
        (b'{"id": "x", "created_at": "noon", "version": "1"}', "created_at"),
        (None, "missing"),
    ],
)
def test_a_damaged_record_is_named_and_the_others_stay_usable(
    home: Home, source: Path, content: bytes | None, why: str
) -> None:
    good = add_job(home, source)
    bad = JobFolder(home.jobs / add_job(home, source, NOW + timedelta(days=1)).id)
    bad.record.unlink()
    if content is not None:
        bad.record.write_bytes(content)
    with pytest.raises(BadJobFolder, match=why) as caught:
        bad.load()
    assert str(bad.path) in str(caught.value)
    assert "\n" not in str(caught.value)
    assert [folder.id for folder in job_folders(home)] == [good.id, bad.id]
    assert JobFolder(home.jobs / good.id).load() == good
    with pytest.raises(BadJobFolder):  # a damaged record is evidence too: not overwritten
        bad.save(good.model_copy(update={"id": bad.id}))
    assert bad.record.exists() == (content is not None)


def test_a_record_of_a_newer_program_is_not_called_damaged(home: Home, source: Path) -> None:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    raw = json.loads(folder.record.read_bytes()) | {"schema_version": 99, "unheard_of": 1}
    folder.record.write_text(json.dumps(raw))
    with pytest.raises(JobTooNew, match="update Seamnote"):
        folder.load()


@pytest.mark.parametrize("path", ["../other", "/etc/passwd", "media/../../x", "a\0b", "link/x"])
def test_a_record_cannot_point_out_of_its_folder(home: Home, source: Path, path: str) -> None:
    folder = JobFolder(home.jobs / add_job(home, source).id)
    (folder.path / "link").symlink_to("/etc")
    with pytest.raises(BadJobFolder):
        folder.path_of(path)
    assert folder.path_of("derived/draft.pdf") == folder.derived.resolve() / "draft.pdf"


def test_a_copied_home_is_the_same_home(home: Home, source: Path, tmp_path: Path) -> None:
    job = add_job(home, source)
    shutil.copytree(home.root, tmp_path / "elsewhere" / "copy")
    shutil.rmtree(home.root)
    copy = Home.open(tmp_path / "elsewhere" / "copy", create=False)
    folder = JobFolder(copy.jobs / job.id)
    assert folder.load() == job
    assert all(folder.path_of(media.path).is_file() for media in job.media)
    assert find_by_originals(copy, media_files(source, f"{NOW.isoformat()} {source}")) == job


def test_a_time_without_zone_is_local_time(home: Home, source: Path) -> None:
    _, job = JobFolder.create(home, media_files(source), KINDS, datetime(2026, 1, 2, 3, 4, 5))
    assert isinstance(job, Job)
    assert job.created_at.tzinfo is not None
