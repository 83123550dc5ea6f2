"""Job folders read for the index, many of them by helping processes.

A record is a tree of thousands of values, and reading it takes most of the time of a rebuild.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Iterator, Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import NamedTuple

from recorder.archive.index.entries import Entry, entry
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.record import parse
from recorder.errors import BadJobFolder

BATCH_JOBS = 50
MANY_JOBS = 1000  # below, helpers start no sooner than the work is done
MOST_HELPERS = 4
_AHEAD = 2  # batches that a helper has to read; their names fit into the pipe


class Read(NamedTuple):
    """entries: of the folders that could be read. damaged: the others, and why."""

    entries: list[Entry]
    damaged: list[tuple[Path, str]]


def read(jobs: Path, ids: Sequence[str]) -> Read:
    """jobs: the folder of all job folders."""
    found = Read([], [])
    for job_id in ids:
        folder = JobFolder(jobs / job_id)
        try:
            content, stamp = folder.read()
            found.entries.append(entry(parse(content, folder.path), stamp))
        except BadJobFolder as error:
            found.damaged.append((folder.path, str(error.data["detail"])))
    return found


def read_all(jobs: Path, ids: Sequence[str]) -> Iterator[Read]:
    """All of them in their order, BATCH_JOBS at a time."""
    batches = [ids[start : start + BATCH_JOBS] for start in range(0, len(ids), BATCH_JOBS)]
    helpers = min(os.cpu_count() or 1, MOST_HELPERS) if len(ids) >= MANY_JOBS else 0
    with without_looking_for_cycles():
        if helpers < 2:
            yield from (read(jobs, batch) for batch in batches)
        else:
            yield from _read_by_helpers(jobs, batches, helpers)


@contextlib.contextmanager
def without_looking_for_cycles() -> Iterator[None]:
    """Looking through the values of records for cycles takes several times as long as reading
    them, and there are none.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _read_by_helpers(jobs: Path, batches: Sequence[Sequence[str]], count: int) -> Iterator[Read]:
    with contextlib.ExitStack() as stack:
        helpers = [stack.enter_context(_helper(jobs)) for _ in range(count)]
        asked: deque[tuple[Connection, Sequence[str]]] = deque()
        for number, batch in enumerate(batches):
            if len(asked) == count * _AHEAD:
                yield _answer(jobs, *asked.popleft())
            helper = helpers[number % count]
            with contextlib.suppress(OSError):
                helper.send(batch)
            asked.append((helper, batch))
        while asked:
            yield _answer(jobs, *asked.popleft())


def _answer(jobs: Path, helper: Connection, batch: Sequence[str]) -> Read:
    """What the helper read; of one that died this process reads it."""
    try:
        found: Read = helper.recv()
    except (EOFError, OSError):
        return read(jobs, batch)
    return found


@contextlib.contextmanager
def _helper(jobs: Path) -> Iterator[Connection]:
    """A process that reads the folders whose names it is sent. It ends when nobody is left to
    listen, also when this process is killed.
    """
    processes = multiprocessing.get_context("spawn")
    here, there = processes.Pipe()
    process = processes.Process(target=_help, args=(there, jobs), daemon=True)
    process.start()
    there.close()
    try:
        yield here
    finally:
        here.close()
        process.join()


def _help(parent: Connection, jobs: Path) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a person stops the program, which ends this
    with contextlib.suppress(EOFError, OSError), without_looking_for_cycles():
        while True:
            parent.send(read(jobs, parent.recv()))
