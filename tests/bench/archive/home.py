"""A home full of synthetic jobs, made once and used again."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import shutil
from collections.abc import Callable
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.jobs import changes, events
from recorder.archive.jobs.arriving import FOLDERS
from recorder.archive.jobs.record import dump
from recorder.model import event
from recorder.model.job import FILE_NAME, Job
from tests.bench.archive import drafts, jobs, words
from tests.bench.archive.truth import Gathered, Truth

MARK, TRUTH = "bench.json", "bench.npz"
FORM = 1  # raise it when folders are written differently, so that homes are made anew
CHUNK = 250
Progress = Callable[[int, int], None]


def made(
    root: Path, count: int, media_bytes: int = 0, progress: Progress = lambda *_: None
) -> Home:
    """The home at ``root`` with ``count`` jobs: as it lies there when it was made by this
    generator, else made anew. Nothing is synced to the disk.
    """
    mark = {"form": FORM, "jobs": count, "media_bytes": media_bytes, "generator": _digest()}
    if root.exists() and _mark(root) != mark:
        if any(root.iterdir()) and _mark(root) is None:
            raise SystemExit(f"{root} is not a home of this bench; it is left as it is")
        shutil.rmtree(root)
    home = Home.open(root)
    if _mark(root) is None:
        _fill(home, count, media_bytes, progress)
        (root / MARK).write_text(json.dumps(mark), encoding="utf-8")
    return home


def truth_of(home: Home) -> Truth:
    return Truth(home.root / TRUTH)


def _digest() -> str:
    """Of all that the content of a job depends on."""
    files = (Path(module.__file__ or "") for module in (jobs, drafts, words))
    return hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()


def _mark(root: Path) -> object:
    path = root / MARK
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else None


def _fill(home: Home, count: int, media_bytes: int, progress: Progress) -> None:
    gathered = Gathered()
    tasks = [(home, start, count, media_bytes) for start in range(0, count, CHUNK)]
    with multiprocessing.Pool() as pool:
        for told in pool.imap(_write_some, tasks):
            for truth in told:
                gathered.add(truth)
            progress(len(gathered.ids), count)
    gathered.write(home.root / TRUTH)


def _write_some(task: tuple[Home, int, int, int]) -> list[jobs.Truth]:
    home, start, count, media_bytes = task
    told = []
    for number in range(start, min(start + CHUNK, count)):
        job, truth, originals = jobs.job(number, count, media_bytes)
        write(home.jobs / job.id, job, originals)
        told.append(truth)
    return told


def write(path: Path, job: Job, originals: dict[str, bytes]) -> None:
    """A job folder as the program leaves it, with the chain of its events."""
    for name in FOLDERS:
        (path / name).mkdir(parents=True)
    for place, content in originals.items():
        (path / place).write_bytes(content)
    sums = sorted((media.path.split("/")[1], media.sha256) for media in job.media)
    listed = "".join(f"{sha256}  {name}\n" for name, sha256 in sums)
    (path / "media" / "SHA256SUMS").write_text(listed, encoding="utf-8")
    record = dump(job)
    (path / FILE_NAME).write_bytes(record)
    (path / event.FILE_NAME).write_bytes(_events(job, record))


def _events(job: Job, record: bytes) -> bytes:
    """As one saving would write them: the job began, and all that is known of it came in."""
    before = Job(id=job.id, created_at=job.created_at, version=job.version, media=job.media)
    batch = [changes.began(job), *changes.happened(before, job)]
    return events.lines(events.Chain(), batch, hashlib.sha256(record).hexdigest(), job.created_at)
