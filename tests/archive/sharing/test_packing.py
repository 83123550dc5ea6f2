"""A package gets its name only when it was read back; what cannot go in is told by name."""

from __future__ import annotations

import contextlib
import errno
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from recorder.archive.disk import atomic
from recorder.archive.sharing import packing
from recorder.archive.sharing.package import Package, opened
from recorder.archive.sharing.packing import Packer, Written, write
from recorder.errors import BadPackage, OutputExists, OutputUnwritable
from recorder.model.event import Actor

AT = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
ROOT = Path(__file__).parents[3]

# A real limit of the system: no file may grow beyond it, so that writing fails half-way.
FULL = """
import resource, sys
from pathlib import Path
from recorder.errors import SeamnoteError
from tests.archive.sharing.test_packing import packed
source, target = map(Path, sys.argv[1:])
resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, 50_000))
try:
    packed(target, lambda packer: packer.add(source, "jobs/a/media/x.flac"), replace=True)
except SeamnoteError as error:
    print(type(error).__name__, error)
"""


def nothing(_: int) -> None:
    pass


def packed(
    target: Path,
    fill: Callable[[Packer], object],
    replace: bool = False,
    advance: Callable[[int], None] = nothing,
) -> Written:
    return write(
        target, fill, kind="backup", by=Actor(person="J. Meier"),
        at=AT, replace=replace, advance=advance,
    )  # fmt: skip


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    path = tmp_path / "a.flac"
    path.write_bytes(b"sound" * 30_000)
    os.utime(path, ns=(1, 1_700_000_000_123_456_789))
    return path


def test_what_was_written_is_what_is_told(tmp_path: Path, sound: Path) -> None:
    done: list[int] = []
    written = packed(
        tmp_path / "a.zip", lambda p: p.add(sound, "jobs/a/media/x"), advance=done.append
    )
    assert sum(done) == 2 * sound.stat().st_size  # written, and read back
    with opened(tmp_path / "a.zip") as package:
        assert package.contents == written.contents
        (entry,) = package.contents.files
    assert (entry.size_bytes, entry.modified_ns) == (150_000, 1_700_000_000_123_456_789)
    assert written.size_bytes == (tmp_path / "a.zip").stat().st_size
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.flac", "a.zip"]


def test_only_its_owner_can_read_it(tmp_path: Path, sound: Path) -> None:
    packed(tmp_path / "a.zip", lambda packer: packer.add(sound, "jobs/a/media/x"))
    assert (tmp_path / "a.zip").stat().st_mode & 0o777 == 0o600


def test_a_file_that_is_there_stays_unless_it_may_go(tmp_path: Path, sound: Path) -> None:
    target = tmp_path / "a.zip"
    target.write_bytes(b"an older backup")
    with pytest.raises(OutputExists):
        packed(target, lambda packer: packer.add(sound, "jobs/a/media/x"))
    assert target.read_bytes() == b"an older backup"
    packed(target, lambda packer: packer.add(sound, "jobs/a/media/x"), replace=True)
    with opened(target) as package:
        assert package.jobs == ("a",)


@pytest.mark.parametrize("make", [Path.mkdir, lambda path: path.symlink_to("nowhere")])
def test_a_folder_or_a_dead_link_is_never_replaced(
    make: Callable[[Path], None], tmp_path: Path
) -> None:
    target = tmp_path / "a.zip"
    make(target)
    with pytest.raises(OutputUnwritable, match="no file that can be replaced"):
        packed(target, nothing, replace=True)
    assert [path.name for path in tmp_path.iterdir()] == ["a.zip"]


def test_what_does_not_come_back_from_the_disk_gets_no_name(
    tmp_path: Path, sound: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    @contextlib.contextmanager
    def spoiled(path: Path) -> Iterator[Package]:
        with path.open("r+b") as file:
            file.seek(1000)
            file.write(b"x")
        with opened(path) as package:
            yield package

    monkeypatch.setattr(packing, "opened", spoiled)
    target = tmp_path / "a [2].zip"
    target.write_bytes(b"an older backup")
    with pytest.raises(BadPackage):
        packed(target, lambda packer: packer.add(sound, "jobs/a/media/x"), replace=True)
    assert target.read_bytes() == b"an older backup"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a [2].zip", "a.flac"]


def test_a_full_disk_leaves_the_older_file(tmp_path: Path, sound: Path) -> None:
    target = tmp_path / "a.zip"
    target.write_bytes(b"an older backup")
    child = subprocess.run(
        [sys.executable, "-c", FULL, sound, target], cwd=ROOT, capture_output=True, text=True,
        check=True,
    )  # fmt: skip
    assert child.stdout.startswith("OutputUnwritable"), child.stderr
    assert target.read_bytes() == b"an older backup"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.flac", "a.zip"]


def test_a_share_that_cannot_sync_a_folder_will_do(
    tmp_path: Path, sound: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refusing(number: int) -> Callable[[Path], None]:
        def refuse(folder: Path) -> None:
            raise OSError(number, os.strerror(number))

        return refuse

    monkeypatch.setattr(atomic, "sync_folder", refusing(errno.EINVAL))
    packed(tmp_path / "a.zip", lambda packer: packer.add(sound, "jobs/a/media/x"))
    monkeypatch.setattr(atomic, "sync_folder", refusing(errno.EIO))
    with pytest.raises(OutputUnwritable, match="put/output"):
        packed(tmp_path / "b.zip", lambda packer: packer.add(sound, "jobs/a/media/x"))


def test_what_a_killed_writer_left_goes_with_the_next(tmp_path: Path, sound: Path) -> None:
    (tmp_path / ".a.zip.0badcafe.tmp").write_bytes(b"half")
    packed(tmp_path / "a.zip", lambda packer: packer.add(sound, "jobs/a/media/x"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.flac", "a.zip"]


def test_a_file_that_changes_while_it_is_read_is_told(tmp_path: Path, sound: Path) -> None:
    def meanwhile(_: int) -> None:
        sound.write_bytes(b"other")

    written = packed(
        tmp_path / "a.zip", lambda packer: packer.add(sound, "jobs/a/media/x"), advance=meanwhile
    )
    assert written.contents.faults == (f"{sound} was changed while it was read",)
    assert len(written.contents.files) == 1


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        (b"nul.pdf", "the name of a device"),
        (b"caf\xe9.pdf", "not UTF-8"),
        (b"A.FLAC", "differs only in case"),
        (b"gone.pdf", "No such file"),
        (b"pipe", "not a regular file"),
    ],
)
def test_what_cannot_go_in_is_told_and_the_rest_goes(
    name: bytes, reason: str, tmp_path: Path, sound: Path
) -> None:
    odd = Path(os.fsdecode(os.fsencode(tmp_path / "odd") + b"/" + name))
    odd.parent.mkdir()
    if name == b"pipe":
        os.mkfifo(odd)
    elif name != b"gone.pdf":
        odd.write_bytes(b"odd")

    def fill(packer: Packer) -> None:
        packer.add(sound, "jobs/a/a.flac")
        assert packer.add(odd, f"jobs/a/{odd.name}") is None

    written = packed(tmp_path / "a.zip", fill)
    (fault,) = written.contents.faults
    assert reason in fault
    assert [entry.path for entry in written.contents.files] == ["jobs/a/a.flac"]
