"""The manifest of the originals, held against GNU coreutils' sha256sum.

Source: https://www.gnu.org/software/coreutils/manual/html_node/cksum-general-options.html and
https://www.gnu.org/software/coreutils/manual/html_node/md5sum-invocation.html (a line begins with
a backslash where a backslash, line feed or carriage return in the name is escaped; --strict refuses
a line of another form). The tool itself judges here.
"""

import hashlib
import subprocess
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.media import SUMS, dump_sums, read_sums
from tests.archive.sample_jobs import add_job


def sha256sum(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sha256sum", *arguments], cwd=folder, capture_output=True, text=True, check=False
    )


@pytest.fixture
def media(tmp_path: Path) -> Path:
    """The originals of a real job."""
    home = Home.open(tmp_path / "home")
    job = add_job(home, tmp_path / "camera")
    return JobFolder(home.jobs / job.id).path / "media"


def test_the_tool_finds_a_whole_job_whole(media: Path) -> None:
    done = sha256sum(media, "-c", "--strict", SUMS)
    assert (done.returncode, done.stderr) == (0, "")
    assert sorted(line.rpartition(": ")[2] for line in done.stdout.splitlines()) == ["OK", "OK"]


@pytest.mark.parametrize("place", [0, 1000, -1])
def test_the_tool_finds_one_changed_byte(media: Path, place: int) -> None:
    photo = next(media.glob("*.jpg"))
    content = bytearray(photo.read_bytes())
    content[place] ^= 1
    photo.write_bytes(content)
    done = sha256sum(media, "-c", "--strict", SUMS)
    assert done.returncode == 1
    assert f"{photo.name}: FAILED" in done.stdout


def test_the_tool_finds_a_missing_file(media: Path) -> None:
    next(media.glob("*.flac")).unlink()
    assert sha256sum(media, "-c", "--strict", SUMS).returncode == 1


NAMES = ["plain.jpg", "two words.wav", "back\\slash", "\\", "line\nbreak", "re\rturn", "Öl\\n.wav"]


def test_names_are_escaped_as_the_tool_does(tmp_path: Path) -> None:
    digests = {}
    for number, name in enumerate(NAMES):
        content = f"content {number}".encode()
        (tmp_path / name).write_bytes(content)
        digests[name] = hashlib.sha256(content).hexdigest()
    printed = subprocess.run(
        ["sha256sum", "--", *NAMES], cwd=tmp_path, capture_output=True, check=True
    ).stdout
    assert dump_sums(digests) == printed
    (tmp_path / SUMS).write_bytes(printed)
    assert sha256sum(tmp_path, "-c", "--strict", "--quiet", SUMS).returncode == 0
    assert read_sums(tmp_path) == digests
