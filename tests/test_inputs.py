"""One file from outside: whole, or one line that says why not."""

import os
from pathlib import Path

import pytest

from recorder.errors import FileMissing, FileTooLarge, InputRefused
from recorder.inputs import read_whole


def test_all_of_it(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"123")
    assert read_whole(path, 3) == b"123"
    path.write_bytes(b"")
    assert read_whole(path, 3) == b""


def test_too_much(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"1234")
    with pytest.raises(FileTooLarge):
        read_whole(path, 3)


@pytest.mark.parametrize("name", ["/dev/zero", "pipe", "."])
def test_no_pipe_no_device_no_folder(tmp_path: Path, name: str) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputRefused, match="not a regular file"):
        read_whole(tmp_path / name, 1000)


def test_nothing_there(tmp_path: Path) -> None:
    with pytest.raises(FileMissing):
        read_whole(tmp_path / "a", 1)
    with pytest.raises(InputRefused):
        read_whole(tmp_path / "a\0b", 1)
