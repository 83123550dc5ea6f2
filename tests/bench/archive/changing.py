"""What a large archive costs when it changes: a new job, an opened index, an index made anew."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index, bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from tests.archive.index.index_content import CONTENT
from tests.bench.archive import jobs
from tests.bench.archive.figures import Figure, quickest, spread

UNDERSTOOD = ("complete", "transcripts", "readings", "notes", "photos", "measurements")


def opening(home: Home) -> list[Figure]:
    seconds = quickest(lambda: Index.open(home).close(), 3)
    return [Figure("opening the index, all jobs known", seconds * 1e3, "ms")]


def adding(home: Home, known: int, number: int) -> list[Figure]:
    """New jobs as ``seamnote process`` makes them, without media: the folder, its record with all
    that was understood, the index. They are taken out again.
    """
    made: list[JobFolder] = []
    spent: list[tuple[float, float, float]] = []
    for at in range(number):
        job, _, _ = jobs.job(known + at, known)
        now = datetime(2026, 11, 2, tzinfo=UTC) + timedelta(minutes=at)
        begin = time.perf_counter()
        folder, empty = JobFolder.create(home, [], [], now)
        created = time.perf_counter()
        understood = {name: getattr(job, name) for name in UNDERSTOOD}
        folder.save(empty.model_copy(update=understood))
        saved = time.perf_counter()
        bring_up_to_date(home)
        spent.append((created - begin, saved - created, time.perf_counter() - saved))
        made.append(folder)
    for folder in made:
        shutil.rmtree(folder.path)
    bring_up_to_date(home)
    create, save, index = zip(*spent, strict=True)
    return [
        *spread("adding a job", [sum(parts) for parts in spent], most_ms=50),
        *spread("  of that its folder", create),
        *spread("  its record", save),
        *spread("  the index, opened for it", index),
    ]


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
    found = [
        Figure("rebuild", told["count"] / told["seconds"], "jobs/s", least=500),
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
    import resource

    begin = time.perf_counter()
    report = Index.rebuild(home)
    seconds = time.perf_counter() - begin
    peak = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
    told = {
        "count": report.count,
        "seconds": seconds,
        "peak_mb": int(peak) / 1024,
        "helper_mb": resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024,
        "damaged": [f"{path}: {reason}" for path, reason in report.damaged],
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
