import multiprocessing
import time
from pathlib import Path

import pytest

from recorder.archive.disk import lock
from recorder.errors import Busy, OutputUnwritable


def _count_up(target: Path, times: int) -> None:
    for _ in range(times):
        with lock.held(target):
            count = int(target.read_text())
            time.sleep(0.0005)
            target.write_text(str(count + 1))


def _hold(target: Path, ready: object, pause_s: float) -> None:
    with lock.held(target):
        ready.set()  # type: ignore[attr-defined]
        time.sleep(pause_s)


def test_nobody_counts_twice(tmp_path: Path) -> None:
    target = tmp_path / "count"
    target.write_text("0")
    spawn = multiprocessing.get_context("spawn")
    counters = [spawn.Process(target=_count_up, args=(target, 60)) for _ in range(3)]
    for counter in counters:
        counter.start()
    for counter in counters:
        counter.join()
    assert target.read_text() == "180"
    assert list(tmp_path.iterdir()) == [target]


def test_a_dead_holder_holds_nothing(tmp_path: Path) -> None:
    spawn = multiprocessing.get_context("spawn")
    ready = spawn.Event()
    holder = spawn.Process(target=_hold, args=(tmp_path / "job", ready, 60.0))
    holder.start()
    assert ready.wait(20)
    with pytest.raises(Busy, match="another process"), lock.held(tmp_path / "job", wait_s=0.05):
        pass
    holder.kill()
    holder.join()
    with lock.held(tmp_path / "job", wait_s=1):
        pass
    assert list(tmp_path.iterdir()) == []


def test_no_place_for_a_lock(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputUnwritable), lock.held(tmp_path / "file" / "job"):
        pass


def test_a_lock_whose_file_is_gone_is_no_lock(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / ".job.lock"
    seize = lock._seize
    handles: list[int] = []

    def seize_late(handle: int) -> None:
        if not handles:
            path.unlink()  # as the last holder does between our open and our lock
        handles.append(handle)
        seize(handle)

    monkeypatch.setattr(lock, "_seize", seize_late)
    with lock.held(tmp_path / "job"):
        assert path.exists()
    assert len(handles) == 2
