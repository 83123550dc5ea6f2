"""A job folder made from what a report holds, which anybody may have written."""

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import dump
from recorder.archive.jobs.reports import reports
from recorder.archive.jobs.restored import (
    elsewhere,
    job_in_report,
    need_originals,
    put_back,
    restore,
    restored_from,
)
from recorder.errors import BadJobFolder, HomeUnusable, JobTooNew, OriginalsElsewhere
from recorder.model.job import Job
from recorder.model.report_record import ReportRecord
from tests.archive.sample_jobs import NOW, add_job, media_files

PDF = b"%PDF-1.7 invented"
ABOUT = ReportRecord(
    path="reports/4817.pdf",
    sha256=hashlib.sha256(PDF).hexdigest(),
    size_bytes=len(PDF),
    written_at=NOW,
    signer="Imke Dorn",
    document_digest="ab" * 32,
    variant="full",
)


@pytest.fixture
def made(home: Home, source: Path) -> Job:
    """The job in the home where it was recorded."""
    return add_job(home, source)


@pytest.fixture
def other(tmp_path: Path) -> Home:
    return Home.open(tmp_path / "other home")


@pytest.fixture
def restored(made: Job, other: Home) -> JobFolder:
    return restore(other, made, dump(made), PDF, ABOUT, NOW)


def test_it_is_the_job_with_its_report_and_without_its_originals(
    made: Job, restored: JobFolder, other: Home
) -> None:
    assert restored.record.read_bytes() == dump(made)
    assert restored.load() == made
    assert reports(restored) == (ABOUT,)
    assert (restored.path / ABOUT.path).read_bytes() == PDF
    mark = restored_from(restored)
    assert mark is not None
    assert (mark.report, mark.sha256, mark.at) == (ABOUT.path, ABOUT.sha256, NOW)
    assert elsewhere(restored, made) == made.media
    assert [path.name for path in other.jobs.iterdir()] == [made.id]


def test_what_needs_the_originals_is_refused_until_they_are_here(
    made: Job, restored: JobFolder, home: Home, source: Path, tmp_path: Path
) -> None:
    with pytest.raises(OriginalsElsewhere, match="2 of its original files are not here"):
        need_originals(restored, made)
    files = media_files(source, f"{NOW.isoformat()} {source}")
    almost = tmp_path / "almost.flac"
    almost.write_bytes(files[0].read_bytes()[:-1] + b"!")
    renamed = tmp_path / "another name"
    shutil.copy2(files[0], renamed)
    assert put_back(restored, [almost, tmp_path, tmp_path / "gone"]) == ()
    assert put_back(restored, [almost, renamed, renamed]) == ("narration.flac",)
    with pytest.raises(OriginalsElsewhere, match="1 of its original files"):
        need_originals(restored, made)
    assert put_back(restored, files) == ("after.jpg",)
    need_originals(restored, made)
    assert restored.changed_originals(made) == []
    here, there = (JobFolder(place.path).path / "media" for place in (restored, _at(home, made)))
    assert sorted(path.name for path in here.iterdir()) == sorted(p.name for p in there.iterdir())
    assert (restored.path / made.media[0].path).stat().st_mtime_ns == files[0].stat().st_mtime_ns


def _at(home: Home, job: Job) -> JobFolder:
    return JobFolder(home.jobs / job.id)


def test_a_job_of_this_home_that_lost_a_file_is_no_restored_one(made: Job, home: Home) -> None:
    folder = _at(home, made)
    (folder.path / made.media[0].path).unlink()
    assert restored_from(folder) is None
    assert elsewhere(folder, made) == ()
    need_originals(folder, made)
    assert folder.changed_originals(made) == [folder.path / made.media[0].path]


def test_a_full_disk_leaves_nothing(
    made: Job, other: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "rename", full)
    with pytest.raises(HomeUnusable, match="No space left"):
        restore(other, made, dump(made), PDF, ABOUT, NOW)
    assert list(other.jobs.iterdir()) == []


def test_a_damaged_mark_is_told(restored: JobFolder) -> None:
    (restored.path / "restored.json").write_bytes(b"{")
    with pytest.raises(BadJobFolder, match=r"restored\.json"):
        restored_from(restored)


@pytest.mark.parametrize(
    "name", ["", ".", "..", "/../x", "/x", "\\b", "\0b", "1\n", ":x", " x", "x" * 81, "é", "١"]
)
def test_an_id_that_is_no_plain_name_is_refused(made: Job, name: str) -> None:
    for job_id in (name, f"20260304-{name}", "CON", "20260304"):
        with pytest.raises(BadJobFolder, match="cannot be the id of a job"):
            job_in_report(dump(made), job_id)


def _media(path: str) -> Callable[[dict[str, Any]], None]:
    return lambda values: values["media"][0].update(path=path)


def _overlay(path: str) -> Callable[[dict[str, Any]], None]:
    return lambda values: values["measurements"][0].update(overlay=path)


@pytest.mark.parametrize(
    "change",
    [
        *map(_media, ("/etc/passwd", "../../../x", "media/../job.json", "media/../../x/job.json")),
        *map(_media, ("job.json", "reports/a.pdf", "media", "media/a/b", "media//a", "./media/a")),
        *map(_media, ("media/a\\b", "media/C:a", "media/a\n", "media/..", "", "media/\u202egpj")),
        *map(_media, ("media/.arriving", "media/" + "a" * 250, "media/" + "ä" * 125)),
        *map(_overlay, ("derived/.x/a.jpg", "derived/" + "a/" * 200 + "a.jpg")),
        *map(_overlay, ("derived/../../x.jpg", "/x.jpg", "media/x.jpg", "derived")),
    ],
)  # fmt: skip
def test_a_path_that_leads_elsewhere_is_refused(
    made: Job, change: Callable[[dict[str, Any]], None]
) -> None:
    values = json.loads(dump(made))
    change(values)
    with pytest.raises(BadJobFolder, match="is no place in a job folder"):
        job_in_report(json.dumps(values).encode(), made.id)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"id": "another"}, "belongs to job another"),
        ({"complete": False}, "not finished"),
        ({"schema_version": 99}, "newer Seamnote, schema 99"),
        ({"readings": [{}]}, "readings"),
        ({"unheard_of": 1}, "unheard_of"),
    ],
)
def test_a_record_of_another_kind_is_refused(
    made: Job, change: dict[str, object], words: str
) -> None:
    content = json.dumps(json.loads(dump(made)) | change).encode()
    with pytest.raises(BadJobFolder, match=words) as caught:
        job_in_report(content, made.id)
    assert isinstance(caught.value, JobTooNew) == ("newer" in words)


@pytest.mark.parametrize(
    "content", [b"", b"[]", b"null", b"\xff\xfe", b"[" * 200_000, b'{"id": 1e999}']
)
def test_what_is_no_record_at_all_is_refused(made: Job, content: bytes) -> None:
    with pytest.raises(BadJobFolder):
        job_in_report(content, made.id)


def test_the_samples_are_taken(made: Job) -> None:
    assert job_in_report(dump(made), made.id) == made
