"""An answer that reads the whole archive: at once of a small one, aside of a large one."""

from __future__ import annotations

import threading
import time

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import IndexDamaged
from recorder.web.jobs import aside
from recorder.web.jobs.aside import Aside


@pytest.fixture
def large(home: Home, monkeypatch: pytest.MonkeyPatch) -> Home:
    home.index.write_bytes(b"x" * 100)
    monkeypatch.setattr(aside, "LARGE_BYTES", 100)
    monkeypatch.setattr(aside, "AGAIN_S", 0.0)
    return home


def settled(asked: Aside[int], home: Home, wanted: int) -> bool:
    ends_s = time.monotonic() + 10
    while asked.of(home) != wanted:
        if time.monotonic() > ends_s:
            return False
        time.sleep(0.01)
    return True


def test_of_a_small_archive_it_is_made_at_once(home: Home) -> None:
    asked = Aside(lambda home: 7)
    assert asked.of(home) == 7


def test_of_a_large_one_nobody_waits_and_it_is_made_once(large: Home) -> None:
    go, made = threading.Event(), []

    def make(home: Home) -> int:
        go.wait(10)
        made.append(1)
        return len(made)

    asked = Aside(make)
    assert [asked.of(large) for _ in range(3)] == [None] * 3
    go.set()
    assert settled(asked, large, 1)
    assert asked.of(large) == 1
    large.index.write_bytes(b"y" * 101)
    assert settled(asked, large, 2)


def test_one_that_fails_is_tried_again(large: Home) -> None:
    tries: list[int] = []

    def make(home: Home) -> int:
        tries.append(1)
        if len(tries) == 1:
            raise IndexDamaged(path=home.index, detail="x")
        return 5

    assert settled(Aside(make), large, 5)
    assert len(tries) == 2
