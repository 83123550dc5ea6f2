"""A package from anybody: whole, or refused in one line with nothing taken."""

from __future__ import annotations

import stat
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from recorder.archive.sharing import package as reader
from recorder.archive.sharing import package_zip
from recorder.archive.sharing.package import opened
from recorder.errors import BadPackage, FileMissing, InputRefused
from tests.archive.sharing.packages import GOOD, RECORD, craft, entry, told

JOB = "20261125-204530-3f9a"


def nothing(_: int) -> None:
    pass


def refusal(path: Path) -> str:
    """The one line with which a package is refused when it is read through."""
    with pytest.raises(BadPackage) as caught, opened(path) as package:
        package.check(nothing)
    text = str(caught.value)
    assert str(path) in text
    assert "\n" not in text
    return text


def test_a_sound_package_gives_back_every_byte(tmp_path: Path) -> None:
    read: list[int] = []
    with opened(craft(tmp_path / "a.zip")) as package:
        package.check(read.append)
        assert package.jobs == (JOB,)
        assert package.read(RECORD) == GOOD[0][1]
        assert package.holds(RECORD)
        assert not package.holds("jobs/other/job.json")
        package.unpack(JOB, tmp_path / "out", nothing)
    assert sum(read) == sum(len(content) for _, content in GOOD)
    for name, content in GOOD:
        path = tmp_path / "out" / name.removeprefix(f"jobs/{JOB}/")
        assert path.read_bytes() == content
        assert path.stat().st_mtime_ns == 10**18


@pytest.mark.parametrize(
    "name",
    [
        "/etc/cron.d/x", "../x/y", "jobs/../../x", f"jobs/{JOB}/../../../x", "jobs/./x/y",
        f"jobs/{JOB}//x", "C:/x/y", f"jobs/{JOB}/C:x", f"jobs\\{JOB}\\job.json", "jobs/..\\x/y",
        f"jobs/{JOB}/con", f"jobs/{JOB}/media/NUL.flac", f"jobs/{JOB}/Com1 .txt", f"jobs/{JOB}/x.",
        f"jobs/{JOB}/x ", f"jobs/{JOB}/.lock", f"jobs/.new-1/{JOB}/x", f"jobs/{JOB}",
        f"jobs/{JOB}/x/",
        "jobs/x", "home", "etc/x/y", "home/jobs/x/job.json", "home/Index.sqlite-wal", "home/.x",
        f"jobs/{JOB}/" + "n" * 256, "jobs/" + "x/" * 600 + "y", f"jobs/{JOB}/a\nb",
        f"jobs/{JOB}/a\u202eb",
        f"jobs/{JOB}/a*b", "contents.json/x",
    ],
)  # fmt: skip
def test_a_name_that_leads_elsewhere_is_refused(name: str, tmp_path: Path) -> None:
    assert "it holds" in refusal(craft(tmp_path / "a.zip", [*GOOD, (name, b"x")]))


@pytest.mark.parametrize(
    "names",
    [
        ("x", "x"), ("x", "X"), ("straße", "STRASSE"), ("\u00e9", "e\u0301"), ("x", "x/y"),
        ("x/y", "x"), ("A/x", "a/y"), ("job.json/x",),
    ],
)  # fmt: skip
def test_names_that_are_one_file_somewhere_are_refused(
    names: tuple[str, ...], tmp_path: Path
) -> None:
    more = [(f"jobs/{JOB}/{name}", b"x") for name in names]
    assert "it holds" in refusal(craft(tmp_path / "a.zip", [*GOOD, *more]))


def link(info: zipfile.ZipInfo) -> None:
    info.external_attr = (stat.S_IFLNK | 0o777) << 16


def bzip2(info: zipfile.ZipInfo) -> None:
    info.compress_type = zipfile.ZIP_BZIP2


@pytest.mark.parametrize("change", [link, bzip2])
def test_what_is_no_plain_file_is_refused(
    change: Callable[[zipfile.ZipInfo], None], tmp_path: Path
) -> None:
    assert "a link, encrypted, or packed" in refusal(craft(tmp_path / "a.zip", change=change))


def test_an_encrypted_file_is_refused(tmp_path: Path) -> None:
    path = craft(tmp_path / "a.zip")
    content = bytearray(path.read_bytes())
    content[content.index(b"PK\1\2") + 8] |= 1  # the general purpose flag in the directory
    path.write_bytes(content)
    assert "encrypted" in refusal(path)


def test_a_name_cut_by_a_zero_is_refused(tmp_path: Path) -> None:
    path = craft(tmp_path / "a.zip", [*GOOD, (f"jobs/{JOB}/xZy", b"x")])
    path.write_bytes(path.read_bytes().replace(b"/xZy", b"/x\0y"))
    refusal(path)


@pytest.mark.parametrize(
    ("contents", "reason"),
    [
        (b"[]", "not one of ours"),
        (b"{", "not one of ours"),
        (told(GOOD, format="other"), "not one of ours"),
        (told(GOOD, written_at="2026-11-25T21:00:00"), "not one of ours"),
        (told(GOOD, version=2, kind="mirror"), "newer Seamnote"),
        (told(GOOD[:1]), "not in it as its contents.json says"),
        (told([*GOOD, ("jobs/x/job.json", b"")]), "not in it as its contents.json says"),
        (told([*GOOD, GOOD[0]]), "names a file twice"),
        (told([GOOD[0], (GOOD[1][0], b"")]), "not in it as its contents.json says"),
        (told([GOOD[0], (GOOD[1][0], b"noise")]), "a.flac is not the file of its contents"),
        (told(GOOD, files=[{**entry(*GOOD[0]), "modified_ns": 1 << 70}]), "not one of ours"),
        (told(GOOD) + b" " * 20_000_000, "larger than any can be"),
    ],
)  # fmt: skip
def test_contents_that_do_not_fit_are_refused(contents: bytes, reason: str, tmp_path: Path) -> None:
    assert reason in refusal(craft(tmp_path / "a.zip", contents=contents))


def test_without_contents_it_is_no_package(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
        archive.writestr(RECORD, b"{}")
    assert "no contents.json" in refusal(tmp_path / "a.zip")


def test_files_that_share_their_bytes_are_refused(tmp_path: Path) -> None:
    """As in a bomb: the directory says that one stretch of the file is several files."""
    path = craft(tmp_path / "a.zip")
    content = bytearray(path.read_bytes())
    place = content.index(b"PK\1\2") + 20  # packed size of the first file, in the directory
    content[place : place + 4] = len(content).to_bytes(4, "little")
    path.write_bytes(content)
    assert "lie over one another" in refusal(path)


def test_a_file_that_unpacks_to_more_than_is_told_stops_there(tmp_path: Path) -> None:
    path = tmp_path / "a.zip"
    files = [(RECORD, bytes(5_000_000))]
    craft(path, files, contents=told([(RECORD, bytes(9))]))
    content = path.read_bytes()
    path.write_bytes(content.replace((5_000_000).to_bytes(4, "little"), (9).to_bytes(4, "little")))
    read: list[int] = []
    with pytest.raises(BadPackage), opened(path) as package:
        package.check(read.append)
    assert sum(read) <= 9


def test_a_directory_beyond_all_homes_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = craft(tmp_path / "a.zip")
    monkeypatch.setattr(package_zip, "MOST_DIRECTORY_BYTES", 100)
    assert "more files than any home" in refusal(path)


def test_a_file_too_large_to_be_read_whole_is_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reader, "MOST_READ_BYTES", 100)
    with opened(craft(tmp_path / "a.zip")) as package, pytest.raises(BadPackage, match="no usable"):
        package.read(RECORD)


def test_cut_anywhere_it_is_refused(tmp_path: Path) -> None:
    whole = craft(tmp_path / "whole.zip").read_bytes()
    path = tmp_path / "cut.zip"
    for size in range(0, len(whole), 13):
        path.write_bytes(whole[:size])
        refusal(path)


def test_a_changed_byte_is_found_unless_it_means_nothing(tmp_path: Path) -> None:
    """Some bytes of a ZIP file say nothing that counts, such as who made it: then all is there."""
    whole = craft(tmp_path / "whole.zip").read_bytes()
    path = tmp_path / "changed.zip"
    refused = 0
    for place in range(0, len(whole), 5):
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 0x41]) + whole[place + 1 :])
        try:
            with opened(path) as package:
                package.check(nothing)
                assert [(e.path, package.read(e.path)) for e in package.contents.files] == GOOD
        except BadPackage:
            refused += 1
    assert refused > len(whole) / 5 * 0.6


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileMissing), opened(tmp_path / "none.zip"):
        pass
    with pytest.raises(InputRefused, match="not a regular file"), opened(tmp_path):
        pass
    (tmp_path / "text.zip").write_text("no package\n" * 20)
    assert "no ZIP file" in refusal(tmp_path / "text.zip")
    (tmp_path / "empty.zip").write_bytes(b"")
    assert "no ZIP file" in refusal(tmp_path / "empty.zip")


def test_a_file_is_never_written_over_another(tmp_path: Path) -> None:
    (tmp_path / "job.json").write_bytes(b"mine")
    with opened(craft(tmp_path / "a.zip")) as package, pytest.raises(FileExistsError):
        package.unpack(JOB, tmp_path, nothing)
    assert (tmp_path / "job.json").read_bytes() == b"mine"
