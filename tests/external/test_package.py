"""What other programs say of a package: it is a ZIP file, and its digests are SHA-256.

Info-ZIP's unzip (https://infozip.sourceforge.net) tests the CRC of every file; sha256sum is that of
GNU coreutils, and takes lines of digest, two blanks and name.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows.backup import backup
from tests.archive.sample_jobs import add_job
from tests.flows.test_backup import Silent


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    home = Home.open(tmp_path_factory.mktemp("package") / "home")
    job = add_job(home, home.root.parent / "camera")
    (JobFolder(home.jobs / job.id).derived / "Gerät – außen.svg").write_text("<svg/>")
    home.settings.write_text('[report]\nfirm = "Tinbrook"\n')
    return home


@pytest.fixture(scope="module")
def package(home: Home) -> Path:
    target = home.root.parent / "a.zip"
    backup(home, target, keys=True, replace=False, progress=Silent())
    return target


def ran(*arguments: str | Path, cwd: Path, stdin: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        list(map(str, arguments)), cwd=cwd, input=stdin, capture_output=True, text=True, check=False
    )


def test_unzip_and_python_find_no_fault(package: Path, tmp_path: Path) -> None:
    for command in (("unzip", "-t"), (sys.executable, "-m", "zipfile", "-t")):
        assert ran(*command, package, cwd=tmp_path).returncode == 0
    shutil.copy(package, tmp_path / "b.zip")
    with (tmp_path / "b.zip").open("r+b") as file:
        file.seek(zipfile.ZipFile(package).infolist()[0].header_offset + 60)
        file.write(b"\xff\xff\xff")
    assert ran("unzip", "-t", tmp_path / "b.zip", cwd=tmp_path).returncode != 0


def test_what_unzip_takes_out_is_what_sha256sum_finds_in_the_contents(
    home: Home, package: Path, tmp_path: Path
) -> None:
    assert ran("unzip", "-q", package, cwd=tmp_path).returncode == 0
    contents = json.loads((tmp_path / "contents.json").read_text(encoding="utf-8"))
    lines = "".join(f"{file['sha256']}  {file['path']}\n" for file in contents["files"])
    checked = ran("sha256sum", "-c", "--strict", cwd=tmp_path, stdin=lines)
    assert checked.returncode == 0, checked.stderr
    assert len(checked.stdout.splitlines()) == len(contents["files"]) == 7
    assert ran("diff", "-r", home.jobs, tmp_path / "jobs", cwd=tmp_path).stdout == (
        "".join(f"Only in {home.jobs / path.name}: reports\n" for path in home.jobs.iterdir())
    )
    (tmp_path / "home" / "settings.toml").write_text("firm = 2\n")
    assert ran("sha256sum", "-c", "--strict", cwd=tmp_path, stdin=lines).returncode == 1


def test_the_manifest_of_the_originals_holds_where_it_was_unpacked(
    package: Path, tmp_path: Path
) -> None:
    ran("unzip", "-q", package, cwd=tmp_path)
    (media,) = tmp_path.glob("jobs/*/media")
    assert ran("sha256sum", "-c", "--strict", "SHA256SUMS", cwd=media).returncode == 0


def test_text_is_packed_and_media_are_stored(package: Path) -> None:
    """APPNOTE 4.4.5: method 8 is deflate, 0 is stored."""
    for info in zipfile.ZipFile(package).infolist():
        packed = not info.filename.endswith((".flac", ".jpg"))
        assert info.compress_type == (8 if packed else 0)
