"""The contract of a store of originals, over each implementation; then what the folder adds."""

import hashlib
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from recorder.archive.jobs import media, originals
from recorder.archive.jobs.media import SUMS, MediaFolder, MediaStore, dump_sums, read_sums
from recorder.errors import BadJobFolder, FileMissing, InputRefused, OutputUnwritable
from recorder.model.job import MediaKind, Removal
from tests.archive.jobs.memory_media import MemoryMedia
from tests.archive.sample_jobs import NOW, media_files, synthetic_job

KINDS = [MediaKind.AUDIO, MediaKind.PHOTO]
GONE = Removal(at=NOW, by="Imke Dorn", reason="asked by letter")


@pytest.fixture(params=["folder", "memory"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> MediaStore:
    (tmp_path / "job").mkdir()
    made: dict[str, Callable[[], MediaStore]] = {
        "folder": lambda: MediaFolder(tmp_path / "job"),
        "memory": MemoryMedia,
    }
    return made[request.param]()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Of a job."""
    path = tmp_path / "job"
    path.mkdir(exist_ok=True)
    return path


def read(store: MediaStore, path: str) -> bytes:
    with store.local(path) as file:
        return file.read_bytes()


def test_what_is_kept_is_there_byte_for_byte(store: MediaStore, source: Path) -> None:
    files = media_files(source)
    kept = store.keep(files, KINDS)
    assert [each.name for each in kept] == ["narration.flac", "after.jpg"]
    assert [each.kind for each in kept] == KINDS
    assert set(store.paths()) == {each.path for each in kept}
    for file, each in zip(files, kept, strict=True):
        content = file.read_bytes()
        assert read(store, each.path) == content
        assert each.sha256 == store.digest(each.path) == hashlib.sha256(content).hexdigest()
        assert each.size_bytes == len(content)
        assert store.holds(each.path)


def test_the_same_file_again_is_the_same(store: MediaStore, source: Path) -> None:
    sound, _ = media_files(source)
    (first,) = store.keep([sound, sound], [MediaKind.AUDIO] * 2)
    assert store.keep([sound], [MediaKind.AUDIO]) == (first,)
    assert store.paths() == (first.path,)


def test_one_name_with_two_contents_is_two_files(store: MediaStore, source: Path) -> None:
    files = [media_files(source / sub, sub)[0] for sub in ("first", "second")]
    first, second = store.keep(files, [MediaKind.AUDIO] * 2)
    assert (first.name, first.path == second.path) == (second.name, False)
    assert read(store, second.path) == files[1].read_bytes()


def test_all_are_kept_or_none(store: MediaStore, source: Path) -> None:
    sound, photo = media_files(source)
    (before,) = store.keep([photo], [MediaKind.PHOTO])
    with pytest.raises(FileMissing):
        store.keep([photo, sound, source / "none.jpg"], [*KINDS, MediaKind.PHOTO])
    with pytest.raises(InputRefused):
        store.keep([sound, source], KINDS)
    assert store.paths() == (before.path,)


def test_only_the_recorded_bytes_are_put_back(store: MediaStore, source: Path) -> None:
    sound, photo = media_files(source)
    kept, _ = store.keep([sound, photo], KINDS)
    store.remove([kept.path])
    assert not store.put_back(photo, kept)
    assert not store.holds(kept.path)
    assert store.put_back(sound, kept)
    assert read(store, kept.path) == sound.read_bytes()


def test_what_is_removed_is_gone_and_may_be_gone_already(store: MediaStore, source: Path) -> None:
    sound, photo = store.keep(media_files(source), KINDS)
    for _ in range(2):
        store.remove([sound.path])
        assert not store.holds(sound.path)
        assert store.paths() == (photo.path,)
    with pytest.raises(FileMissing):
        store.digest(sound.path)
    with pytest.raises(FileMissing), store.local(sound.path):
        pass


@pytest.mark.parametrize("path", [
    "../job.json", "media/../job.json", "/etc/passwd", "media/", "media", "job.json",
    "media/.arriving", "media/SHA256SUMS", "media/a/b", "media\\a", "media/C:a", "media/a\0b", "",
])  # fmt: skip
def test_no_path_leads_elsewhere(store: MediaStore, source: Path, path: str) -> None:
    sound, photo = store.keep(media_files(source), KINDS)
    trick = sound.model_copy(update={"path": path})
    for deed in (
        lambda: store.remove([photo.path, path]),
        lambda: store.put_back(source / "narration.flac", trick),
        lambda: store.holds(path),
        lambda: store.digest(path),
        lambda: store.local(path).__enter__(),
    ):
        with pytest.raises(BadJobFolder):
            deed()
    assert set(store.paths()) == {sound.path, photo.path}


def test_a_link_is_not_followed_out_of_the_folder(folder: Path, source: Path) -> None:
    store = MediaFolder(folder)
    sound, _ = store.keep(media_files(source), KINDS)
    (folder / sound.path).unlink()
    (folder / sound.path).symlink_to(source / "narration.flac")
    with pytest.raises(BadJobFolder, match="leads out"):
        store.remove([sound.path])
    assert (source / "narration.flac").exists()


def test_the_manifest_lists_what_is_there(folder: Path, source: Path) -> None:
    store = MediaFolder(folder)
    sound, photo = store.keep(media_files(source), KINDS)
    names = {Path(each.path).name: each.sha256 for each in (sound, photo)}
    assert read_sums(folder / "media") == names
    store.remove([sound.path])
    assert read_sums(folder / "media") == {Path(photo.path).name: photo.sha256}
    store.put_back(source / "narration.flac", sound)
    assert read_sums(folder / "media") == names
    store.remove([sound.path, photo.path])
    assert list((folder / "media").iterdir()) == []


def test_a_folder_without_a_manifest_gets_one_that_vouches_for_no_damage(
    folder: Path, source: Path
) -> None:
    store = MediaFolder(folder)
    sound, photo = store.keep(media_files(source), KINDS)
    (folder / "media" / SUMS).unlink()
    (folder / photo.path).write_bytes(b"another picture")
    store.remove([])
    assert read_sums(folder / "media") == {Path(sound.path).name: sound.sha256}


def test_where_the_manifest_is_not_that_of_the_record(folder: Path, source: Path) -> None:
    store = MediaFolder(folder)
    sound, photo = store.keep(media_files(source), KINDS)
    job = synthetic_job(1).model_copy(update={"media": (sound, photo)})
    assert media.faults(folder, job) == ()
    removed = job.model_copy(update={"media": (sound.model_copy(update={"removed": GONE}), photo)})
    store.remove([sound.path])
    assert media.faults(folder, removed) == ()
    assert media.faults(folder, job) == ()  # that the file is missing is told of the file
    sums = folder / "media" / SUMS
    sums.write_bytes(dump_sums({Path(photo.path).name: "0" * 64, "stranger.flac": "1" * 64}))
    told = media.faults(folder, removed)
    assert [str(sums) in line for line in told] == [True, True]
    sums.write_bytes(b"nothing\n")
    assert media.faults(folder, removed) == (f"{sums} lacks {Path(photo.path).name}",)
    sums.unlink()
    assert media.faults(folder, removed) == ()


@pytest.mark.parametrize(
    "name", ["plain.jpg", "back\\slash", "line\nbreak", "re\rturn", "Öl 2 .wav"]
)
def test_every_name_is_read_as_it_was_written(tmp_path: Path, name: str) -> None:
    digests = {name: "ab" * 32, f"{name}\\n": "cd" * 32}
    (tmp_path / SUMS).write_bytes(dump_sums(digests))
    assert read_sums(tmp_path) == digests


def test_a_full_disk_leaves_no_half_file(
    folder: Path, source: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = MediaFolder(folder)
    sound, photo = media_files(source)
    (before,) = store.keep([sound], [MediaKind.AUDIO])
    whole = {path.name: path.read_bytes() for path in (folder / "media").iterdir()}

    def full(source: Path, target: Path) -> tuple[str, int]:
        target.write_bytes(b"half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(originals, "copy", full)
    with pytest.raises(OutputUnwritable, match="No space left"):
        store.keep([photo], [MediaKind.PHOTO])
    with pytest.raises(OutputUnwritable):
        store.put_back(sound, before)
    assert {path.name: path.read_bytes() for path in (folder / "media").iterdir()} == whole


# Keeps two files and is killed by itself at the deed with a number, a rename or the manifest.
DYING = """
import os, signal, sys
from pathlib import Path
from recorder.archive.jobs.media import MediaFolder
from recorder.model.job import MediaKind
left = int(sys.argv[1])
def dying(real):
    def deed(*args, **kwargs):
        global left
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*args, **kwargs)
    return deed
os.replace, os.fsync, os.utime = dying(os.replace), dying(os.fsync), dying(os.utime)
Path.replace = dying(Path.replace)
files = [Path(name) for name in sys.argv[3:]]
MediaFolder(Path(sys.argv[2])).keep(files, [MediaKind.AUDIO, MediaKind.PHOTO])
"""


@pytest.mark.parametrize("deeds", [0, 2, 4, 7])
def test_killed_while_files_arrive_no_half_file_has_a_name(
    folder: Path, source: Path, deeds: int
) -> None:
    files = media_files(source)
    done = subprocess.run(
        [sys.executable, "-c", DYING, str(deeds), str(folder), *map(str, files)], check=False
    )
    assert done.returncode == -9
    store = MediaFolder(folder)
    for path in store.paths():
        assert Path(path).name.startswith(store.digest(path)[: media.PREFIX_DIGITS])
    kept = store.keep(files, KINDS)
    assert sorted(path.name for path in (folder / "media").iterdir() if path.name[0] != ".") == (
        sorted([SUMS, *(Path(each.path).name for each in kept)])
    )
    assert not (folder / "media" / media.ARRIVING).exists()


def test_the_time_of_a_file_is_kept(folder: Path, source: Path) -> None:
    sound, _ = media_files(source)
    os.utime(sound, ns=(10**18, 10**18))
    (kept,) = MediaFolder(folder).keep([sound], [MediaKind.AUDIO])
    assert (folder / kept.path).stat().st_mtime_ns == 10**18
