import os
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs import media
from recorder.archive.jobs.folder import JobFolder
from recorder.model.job import MediaKind
from tests.archive.sample_jobs import NOW, media_files


def test_one_file_given_twice_is_kept_once(home: Home, source: Path) -> None:
    file = media_files(source)[0]
    _, job = JobFolder.create(home, [file, file], [MediaKind.AUDIO] * 2, NOW)
    assert len(job.media) == 1


def test_different_files_of_one_name_are_both_kept(home: Home, source: Path) -> None:
    files = [media_files(source / sub, sub)[0] for sub in ("first", "second")]
    folder, job = JobFolder.create(home, files, [MediaKind.AUDIO] * 2, NOW)
    kept = [folder.path_of(media.path).read_bytes() for media in job.media]
    assert kept == [file.read_bytes() for file in files]


@pytest.mark.parametrize(
    ("name", "tamed"),
    [
        ("after.jpg", "after.jpg"),
        ("Halle 2 / öl?.jpg".replace("/", "-"), "Halle_2_-_öl_.jpg"),
        ("no suffix", "no_suffix"),
        (".hidden", ".hidden"),
        ("ends with dot.", "ends_with_dot"),
        ("x" * 250 + ".jpg", "x" * 117 + ".jpg"),
        ("ж" * 120 + ".heic", "ж" * 58 + ".heic"),
    ],
)
def test_names_on_disk_are_tame(home: Home, source: Path, name: str, tamed: str) -> None:
    source.mkdir()
    file = source / name
    file.write_bytes(b"sound")
    folder, job = JobFolder.create(home, [file], [MediaKind.AUDIO], NOW)
    assert job.media[0].name == name
    assert Path(job.media[0].path).name == f"{job.media[0].sha256[:12]}_{tamed}"
    assert folder.path_of(job.media[0].path).read_bytes() == b"sound"


def test_a_name_that_is_not_utf8_is_kept_readable(home: Home, source: Path) -> None:
    source.mkdir()
    file = Path(os.fsdecode(os.fsencode(source) + b"/sound\xff.wav"))
    file.write_bytes(b"sound")
    folder, job = JobFolder.create(home, [file], [MediaKind.AUDIO], NOW)
    assert job.media[0].name == "sound\ufffd.wav"
    assert folder.load() == job


def test_two_contents_with_one_prefix_get_two_names(
    home: Home, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(media, "PREFIX_DIGITS", 0)
    files = [media_files(source / sub, sub)[0] for sub in ("first", "second")]
    folder, job = JobFolder.create(home, files, [MediaKind.AUDIO] * 2, NOW)
    kept = [folder.path_of(media.path).read_bytes() for media in job.media]
    assert kept == [file.read_bytes() for file in files]
