"""What a large archive costs when it changes: a new job, an opened index, an index made anew."""

from __future__ import annotations

import hashlib
import json
import resource
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index, bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.model.job import Job
from tests.archive.index.index_content import CONTENT
from tests.bench.archive import jobs
from tests.bench.archive.figures import Figure, Spent, quickest, single, spread, timed

LATER = datetime(2026, 11, 2, tzinfo=UTC)  # than all jobs of the generator
UNDERSTOOD = ("complete", "transcripts", "readings", "notes", "photos", "measurements")


def opening(home: Home) -> list[Figure]:
    spent = quickest(lambda: Index.open(home).close(), 3)
    return [single("opening the index, all jobs known", spent)]


def adding(home: Home, known: int, number: int) -> list[Figure]:
    """New jobs as ``seamnote process`` makes them, without media: the folder, its record with all
    that was understood, the index. They are taken out again.
    """
    spent = [_add(home, jobs.job(known + at, known)[0], at) for at in range(number)]
    create, save, index = zip(*spent, strict=True)
    for folder in _added(home):
        shutil.rmtree(folder.path)
    bring_up_to_date(home)
    return [
        *spread("adding a job", [_sum(parts) for parts in spent], most_ms=50),
        *spread("  of that its folder", create),
        *spread("  its record", save),
        *spread("  the index, opened for it", index),
    ]


def _add(home: Home, job: Job, at: int) -> tuple[Spent, Spent, Spent]:
    """What the folder, the record and the index cost."""
    made: list[tuple[JobFolder, Job]] = []
    now = LATER + timedelta(minutes=at)
    understood = {name: getattr(job, name) for name in UNDERSTOOD}
    create = timed(lambda: made.append(JobFolder.create(home, [], [], now)))
    folder, empty = made[0]
    save = timed(lambda: folder.save(empty.model_copy(update=understood)))
    return create, save, timed(lambda: bring_up_to_date(home, folder.id))


def _added(home: Home) -> list[JobFolder]:
    return [folder for folder in job_folders(home) if folder.id >= f"{LATER:%Y%m%d}"]


def _sum(parts: Iterable[Spent]) -> Spent:
    return Spent(*map(sum, zip(*parts, strict=True)))


def rebuilding(home: Home) -> tuple[list[Figure], list[str]]:
    """The index made anew in a process of its own, from nothing; also what is wrong with it."""
    before = content(home) if home.index.exists() else ""
    for leftover in ("", "-wal", "-shm"):
        home.index.with_name(home.index.name + leftover).unlink(missing_ok=True)
    command = [sys.executable, "-m", "tests.bench.archive", "--rebuild-once", str(home.root)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    told = json.loads(done.stdout)
    same = before in ("", content(home))
    record_mb = sum(path.stat().st_size for path in home.jobs.glob("*/job.json")) / 1e6
    per_cpu = f"{told['count'] / told['cpu_s']:.0f} in a second of CPU"
    found = [
        Figure("rebuild", told["count"] / told["seconds"], "jobs/s", least=500, note=per_cpu),
        Figure("rebuild, of records", record_mb / told["seconds"], "MB/s"),
        Figure("rebuild, peak memory of its process", told["peak_mb"], "MB", most=200),
        Figure("rebuild, its helpers' largest peak", told["helper_mb"], "MB"),
        Figure("index", home.index.stat().st_size / 1e6, "MB"),
        Figure("mean job.json", record_mb / told["count"] * 1e3, "kB"),
    ]
    mistakes = [] if same else ["the index made anew says something else than the one before"]
    return found, [*mistakes, *told["damaged"]]


def rebuild_once(home: Home) -> None:
    """Told on standard output. The peak is the process's own, which ru_maxrss is not: a child
    starts with that of its parent.
    """
    reports: list[Any] = []
    spent = timed(lambda: reports.append(Index.rebuild(home)))
    helpers = resource.getrusage(resource.RUSAGE_CHILDREN)
    peak = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
    told = {
        "count": reports[0].count,
        "seconds": spent.wall_s,
        "cpu_s": spent.cpu_s + helpers.ru_utime + helpers.ru_stime,
        "peak_mb": int(peak) / 1024,
        "helper_mb": helpers.ru_maxrss / 1024,
        "damaged": [f"{path}: {reason}" for path, reason in reports[0].damaged],
    }
    print(json.dumps(told))


def content(home: Home) -> str:
    """A digest of all that the index says, read with SQLite alone."""
    digest = hashlib.sha256()
    connection = sqlite3.connect(f"file:{home.index}?mode=ro", uri=True)
    try:
        for query in CONTENT:
            for row in connection.execute(query):
                digest.update(repr(row).encode())
    finally:
        connection.close()
    return digest.hexdigest()
