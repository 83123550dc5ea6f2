"""A home full of light jobs, made once and used again, and the truth about them beside it."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import pickle
import shutil
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.jobs.record import dump
from recorder.model.job import FILE_NAME, SCHEMA_VERSION
from tests.bench.archive import words
from tests.bench.knowhow import belts, jobs
from tests.bench.knowhow.jobs import Truth

MARK, TRUTH = "bench.json", "bench.pickle"
CHUNK = 500
Progress = Callable[[int, int], None]


def made(root: Path, count: int, progress: Progress = lambda *_: None) -> Home:
    """The home at ``root`` with ``count`` jobs: as it lies there when it was made by this
    generator, else made anew. Of a job's folder there is its record alone.
    """
    mark = {"jobs": count, "schema": SCHEMA_VERSION, "generator": _digest()}
    if root.exists() and _mark(root) != mark:
        if any(root.iterdir()) and _mark(root) is None:
            raise SystemExit(f"{root} is not a home of this bench; it is left as it is")
        shutil.rmtree(root)
    home = Home.open(root)
    if _mark(root) is None:
        _fill(home, count, progress)
        (root / MARK).write_text(json.dumps(mark), encoding="utf-8")
    return home


def truth_of(home: Home) -> list[Truth]:
    """Of every press run that counts, oldest first."""
    rows = pickle.loads((home.root / TRUTH).read_bytes())
    return [Truth(*row) for row in rows]


def _digest() -> str:
    """Of all that the content of a job depends on."""
    files = (Path(module.__file__ or "") for module in (belts, jobs, words))
    return hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()


def _mark(root: Path) -> object:
    path = root / MARK
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else None


def _fill(home: Home, count: int, progress: Progress) -> None:
    truths: list[tuple[object, ...]] = []
    tasks = [(home, start, count) for start in range(0, count, CHUNK)]
    if count <= CHUNK:
        truths += _write_some(tasks[0])
    else:
        with multiprocessing.Pool() as pool:
            for done, told in enumerate(pool.imap(_write_some, tasks), 1):
                truths += told
                progress(min(done * CHUNK, count), count)
    (home.root / TRUTH).write_bytes(pickle.dumps(truths))


def _write_some(task: tuple[Home, int, int]) -> list[tuple[object, ...]]:
    home, start, count = task
    told: list[tuple[object, ...]] = []
    for number in range(start, min(start + CHUNK, count)):
        job, truths = jobs.job(number, count)
        folder = home.jobs / job.id
        folder.mkdir()
        (folder / FILE_NAME).write_bytes(dump(job))
        told += map(tuple, truths)
    return told
