"""What of a home goes into a package, damaged or not, and a home made again from one."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from recorder.archive.disk import lock
from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.sharing.backup import (
    add_home,
    add_job,
    home_files,
    restore_home,
    restore_jobs,
)
from recorder.archive.sharing.package import opened
from recorder.archive.sharing.packing import Packer, Written, write
from recorder.errors import BadPackage, OutputUnwritable
from recorder.model.event import Actor
from recorder.model.job import Job, Removal
from tests.archive.sample_jobs import NOW
from tests.archive.sample_jobs import add_job as make_job
from tests.archive.sharing.packages import GOOD, craft, told

AT = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)


def nothing(_: int) -> None:
    pass


def packed(home: Home, target: Path, *jobs: str) -> Written:
    def fill(packer: Packer) -> None:
        own = home_files(home, [home.root / "brand/logo.png"], keys=True, packer=packer)
        add_home(packer, home, own)
        for job_id in jobs:
            add_job(packer, JobFolder(home.jobs / job_id))

    return write(
        target, fill, kind="backup", by=Actor(), at=AT, replace=False, advance=nothing
    )  # fmt: skip


def names(written: Written) -> list[str]:
    return [entry.path for entry in written.contents.files]


def tree(folder: Path) -> dict[str, tuple[bytes, int]]:
    """Content and time of every file."""
    return {
        path.relative_to(folder).as_posix(): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture
def job(home: Home, source: Path) -> Job:
    return make_job(home, source)


def test_a_home_comes_back_byte_for_byte(home: Home, job: Job, tmp_path: Path) -> None:
    for name in (
        "settings.toml", "searches.json", "cameras/phone.toml", "identity/time/a.pem",
        "identity/signer.p12", "brand/logo.png", "report_templates/style.css",
        "recipes/oven-70.jsonl", "prepared/oven.toml", "windows.toml", "inventory.toml",
        "conveyors.toml", "checks.jsonl",
    ):  # fmt: skip
        (home.root / name).parent.mkdir(parents=True, exist_ok=True)
        (home.root / name).write_text(name)
    written = packed(home, tmp_path / "a.zip", job.id)
    assert written.contents.faults == ()
    other = Home.open(tmp_path / "other")
    with opened(written.path) as package:
        assert restore_home(other, package, nothing) == ()
        restore_jobs(other, package, nothing)
    assert tree(other.root) == tree(home.root)
    assert (other.identity / "signer.p12").stat().st_mode & 0o777 == 0o600
    assert JobFolder(other.jobs / job.id).load() == job
    assert JobFolder(other.jobs / job.id).derived.is_dir()


def test_what_is_derived_or_on_its_way_stays_out(home: Home, job: Job, tmp_path: Path) -> None:
    for name in ("index.sqlite", f"jobs/.{job.id}.lock", "older backup.zip", "identity/.x.tmp"):
        (home.root / name).write_bytes(b"x")
    (home.jobs / job.id / "media" / ".arriving").write_bytes(b"x")
    assert names(packed(home, tmp_path / "a.zip")) == []
    inside = {name.split("/", 2)[2] for name in names(packed(home, tmp_path / "b.zip", job.id))}
    kept = {media.path for media in job.media}
    assert inside == {"job.json", "events.jsonl", "media/SHA256SUMS", *kept}


def test_keys_can_stay_at_home(home: Home) -> None:
    for name in ("signer.p12", "firm.PFX", "signer-1f0c.pem"):
        (home.identity / name).write_bytes(b"x")
    found = home_files(home, [home.root / "own.pfx"], keys=False)
    assert [path.name for path in found] == ["signer-1f0c.pem"]


def test_a_damaged_job_is_told_and_goes_in_as_it_is(
    home: Home, job: Job, source: Path, tmp_path: Path
) -> None:
    folder = JobFolder(home.jobs / job.id)
    sound, picture = (folder.path / media.path for media in job.media)
    sound.write_bytes(b"noise")
    picture.unlink()
    (folder.reports / "a.pdf").write_bytes(b"%PDF")
    (folder.path / "notes from the office.txt").write_text("mind the gasket")
    written = packed(home, tmp_path / "a.zip", job.id)
    assert [fault.removeprefix(f"{folder.path}/") for fault in written.contents.faults] == [
        f"{job.media[0].path} is not the file that was recorded",
        f"{job.media[1].path} is missing",
    ]
    with opened(written.path) as package:
        assert package.read(f"jobs/{job.id}/{job.media[0].path}") == b"noise"
        assert package.holds(f"jobs/{job.id}/notes from the office.txt")


@pytest.mark.parametrize("name", ["job.json", "events.jsonl"])
def test_a_record_that_others_changed_is_told_and_goes_in_as_it_is(
    name: str, home: Home, job: Job, tmp_path: Path
) -> None:
    path = home.jobs / job.id / name
    path.write_bytes(path.read_bytes().replace(b"Larkfield", b"Lakefield"))
    written = packed(home, tmp_path / "a.zip", job.id)
    assert any(str(path) in fault for fault in written.contents.faults)
    path.write_bytes(b"{")
    written = packed(home, tmp_path / "b.zip", job.id)
    assert written.contents.faults
    with opened(written.path) as package:
        assert package.read(f"jobs/{job.id}/{name}") == b"{"


def test_a_voice_that_was_taken_out_does_not_go_in(home: Home, job: Job, tmp_path: Path) -> None:
    """Also when the removal was cut off between the record and the file."""
    voice = job.media[0]
    gone = voice.model_copy(update={"removed": Removal(at=NOW, by="J. Meier", reason="asked")})
    JobFolder(home.jobs / job.id).update(
        lambda known: known.model_copy(update={"media": (gone, *known.media[1:])})
    )
    assert (home.jobs / job.id / voice.path).exists()
    written = packed(home, tmp_path / "a.zip", job.id)
    assert not any(name.endswith(voice.path) for name in names(written))
    assert written.contents.faults == ()


def test_where_no_lock_can_be_made_it_is_read_all_the_same(
    home: Home, job: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    held = lock.held

    @contextlib.contextmanager
    def refusing(target: Path, wait_s: float = 30.0) -> Iterator[None]:
        if target.is_relative_to(home.root):
            raise OutputUnwritable(path=target, detail="Read-only file system")
        with held(target, wait_s):
            yield

    monkeypatch.setattr(lock, "held", refusing)
    written = packed(home, tmp_path / "a.zip", job.id)
    assert written.contents.faults == ()
    assert f"jobs/{job.id}/job.json" in names(written)


def test_a_link_to_a_folder_is_told(home: Home, job: Job, tmp_path: Path) -> None:
    (home.jobs / job.id / "more").symlink_to(tmp_path)
    (home.identity / "time").symlink_to(tmp_path)
    faults = packed(home, tmp_path / "a.zip", job.id).contents.faults
    assert [fault.endswith("it is a link to a folder") for fault in faults] == [True, True]


def test_a_saving_that_was_cut_off_is_finished_first(home: Home, job: Job, tmp_path: Path) -> None:
    """Its events are on the disk, and its record waits under a temporary name."""
    folder = JobFolder(home.jobs / job.id)
    before = folder.record.read_bytes()
    folder.update(lambda known: known.model_copy(update={"notes": ()}))
    after = folder.record.read_bytes()
    (folder.path / ".job.json.0badcafe.tmp").write_bytes(after)
    folder.record.write_bytes(before)
    written = packed(home, tmp_path / "a.zip", job.id)
    assert written.contents.faults == ()
    with opened(written.path) as package:
        assert package.read(f"jobs/{job.id}/job.json") == after


def test_what_is_in_a_home_stays(home: Home, tmp_path: Path) -> None:
    home.settings.write_text("mine")
    files = [("home/settings.toml", b"theirs"), ("home/card.toml", b"theirs")]
    with opened(craft(tmp_path / "a.zip", files)) as package:
        assert restore_home(home, package, nothing) == ("settings.toml",)
    assert home.settings.read_text() == "mine"
    assert (home.root / "card.toml").read_text() == "theirs"


def test_no_half_job_appears(home: Home, tmp_path: Path) -> None:
    bad = ("jobs/20261126-204530-3f9a/media/b.flac", b"sound")
    contents = told([*GOOD, (bad[0], b"noise")])
    package_path = craft(tmp_path / "a.zip", [*GOOD, bad], contents)
    with opened(package_path) as package, pytest.raises(BadPackage, match=r"b\.flac"):
        restore_jobs(home, package, nothing)
    assert [path.name for path in home.jobs.iterdir()] == ["20261125-204530-3f9a"]
    assert (home.jobs / "20261125-204530-3f9a/media/a.flac").read_bytes() == b"sound"
