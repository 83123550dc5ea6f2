import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from recorder.archive.disk import atomic
from recorder.errors import OutputUnwritable


def test_the_new_content_replaces_the_old(tmp_path: Path) -> None:
    path = tmp_path / "record"
    atomic.write(path, b"old")
    atomic.write(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("step", ["fsync", "replace"])
@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_failure_on_the_way_leaves_the_old_content(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, fault: BaseException
) -> None:
    path = tmp_path / "record"
    atomic.write(path, b"old")

    def fail(*_: object) -> None:
        raise fault

    monkeypatch.setattr(os, step, fail)
    with pytest.raises((OutputUnwritable, KeyboardInterrupt)) as caught:
        atomic.write(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]
    if isinstance(fault, OSError):
        assert "No space left on device" in str(caught.value)


def test_the_order_is_content_then_name_then_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[str] = []
    real_fsync, real_replace = os.fsync, os.replace

    def fsync(handle: int) -> None:
        steps.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "content")
        real_fsync(handle)

    def replace(old: Path, new: Path) -> None:
        steps.append("name")
        real_replace(old, new)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "replace", replace)
    atomic.write(tmp_path / "record", b"new")
    assert steps == ["content", "name", "folder"]


def test_a_place_that_is_no_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputUnwritable, match="Not a directory"):
        atomic.write(tmp_path / "file" / "record", b"new")
    with pytest.raises(OutputUnwritable, match="No such file"):
        atomic.write(tmp_path / "nowhere" / "record", b"new")


ROOT = Path(__file__).parents[3]
WRITER = """
import sys
from pathlib import Path
from recorder.archive.disk import atomic
while True:
    for letter in b"ab":
        atomic.write(Path(sys.argv[1]), bytes([letter]) * 300_000)
"""


def test_a_killed_writer_leaves_a_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "record"
    for pause_s in (0.0, 0.003, 0.011, 0.017, 0.023):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], cwd=ROOT)
        deadline_s = time.monotonic() + 20
        started = path.stat().st_mtime_ns if path.exists() else 0
        while not path.exists() or path.stat().st_mtime_ns == started:
            assert time.monotonic() < deadline_s
            time.sleep(0.001)
        time.sleep(pause_s)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        content = path.read_bytes()
        assert len(content) == 300_000
        assert len(set(content)) == 1
    atomic.sweep(path)
    assert list(tmp_path.iterdir()) == [path]
