"""Processes that are killed, or run out of disk, at moments which nobody chose."""

import random
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs import events
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.model.event import What
from recorder.model.job import MediaKind
from recorder.model.reading import Reading
from tests.archive.finding.asking import search
from tests.archive.index.index_content import content
from tests.archive.sample_jobs import NOW, add_job, media_files, reading

ROOT = Path(__file__).parents[2]

# Makes jobs, adds readings, indexes and rebuilds for ever; tells each reading that it acknowledged.
WORKER = """
import itertools, sys
from pathlib import Path
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.model.job import MediaKind
from tests.archive.sample_jobs import NOW, media_files, reading
home, files = Home(Path(sys.argv[1])), [Path(name) for name in sys.argv[2:]]
print("ready", flush=True)
for count in itertools.count():
    folder, job = JobFolder.create(home, files, [MediaKind.AUDIO, MediaKind.PHOTO], NOW)
    told = reading("press", f"P{count}")
    job = folder.update(lambda known: known.model_copy(update={"readings": (told,)}))
    print(folder.id, told.value, flush=True)
    with Index.open(home) as index:
        index.put(job)
    if count % 3 == 2:
        Index.rebuild(home)
"""

# A real limit of the system: no file may grow beyond it, so that writing fails half-way.
FULL = """
import resource, sys
from pathlib import Path
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.errors import SeamnoteError
from recorder.model.job import MediaKind
from tests.archive.sample_jobs import NOW
home, files = Home(Path(sys.argv[1])), [Path(name) for name in sys.argv[2:]]
folder = job_folders(home)[0]
job = folder.load()
many = job.model_copy(update={"notes": job.notes * 5000})
steps = {
    "create": lambda: JobFolder.create(home, files, [MediaKind.AUDIO, MediaKind.PHOTO], NOW),
    "save": lambda: folder.save(many),
    "put": lambda: Index.open(home).put(many),
    "rebuild": lambda: Index.rebuild(home),
}
resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
for name, step in steps.items():
    try:
        step()
        print(name, "nothing", "happened")
    except SeamnoteError as error:
        print(name, type(error).__name__, error)
"""


def test_killed_at_any_moment_nothing_acknowledged_is_lost(home: Home, source: Path) -> None:
    files = media_files(source)
    dice = random.Random(4817)
    acknowledged: dict[str, str] = {}
    for _ in range(9):
        worker = subprocess.Popen(
            [sys.executable, "-c", WORKER, str(home.root), *map(str, files)],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert worker.stdout is not None
        assert worker.stdout.readline() == "ready\n"
        lines = [worker.stdout.readline() for _ in range(dice.randrange(4))]
        time.sleep(dice.uniform(0.0, 0.02))
        worker.kill()
        lines += worker.stdout.readlines()
        worker.wait()
        acknowledged |= dict(line.split() for line in lines if line.endswith("\n"))
        for folder in job_folders(home):
            job = folder.load()
            assert all(folder.path_of(media.path).is_file() for media in job.media)
            assert folder.record_faults() == ()
            if folder.id in acknowledged:
                assert job.readings[0].value == acknowledged[folder.id]
                (told,) = (e for e in events.read(folder.events).events if e.what is What.HEARD)
                assert Reading.model_validate(told.data["reading"]) == job.readings[0]
        with Index.open(home) as index:
            index.check()
            assert {hit.id for hit in search(index, limit=10_000)} >= acknowledged.keys()
    assert len(acknowledged) > 8
    by_crashes = content(home)
    home.index.unlink()
    for leftover in home.root.glob("index.sqlite-*"):
        leftover.unlink()
    assert Index.rebuild(home).damaged == ()
    assert content(home) == by_crashes


def test_what_killed_makers_left_goes_with_the_next_job(home: Home, source: Path) -> None:
    (home.jobs / ".arriving" / "0badcafe" / "media").mkdir(parents=True)
    (home.jobs / ".0badcafe.lock").touch()
    _, job = JobFolder.create(home, media_files(source), [MediaKind.AUDIO, MediaKind.PHOTO], NOW)
    assert [path.name for path in home.jobs.iterdir()] == [job.id]


def test_a_full_disk_is_told_and_costs_nothing(home: Home, source: Path) -> None:
    job = add_job(home, source)
    Index.rebuild(home)
    before = content(home)
    child = subprocess.run(
        [sys.executable, "-c", FULL, str(home.root), *map(str, media_files(source, "other"))],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    told = dict(line.split(maxsplit=1) for line in child.stdout.splitlines())
    assert told["create"].startswith("HomeUnusable")
    assert told["save"].startswith("OutputUnwritable")
    assert told["put"].startswith("HomeUnusable")
    assert told["rebuild"].startswith("HomeUnusable")
    assert "File too large" in told["save"]
    assert [path.name for path in home.jobs.iterdir()] == [job.id]
    assert JobFolder(home.jobs / job.id).load() == job
    with Index.open(home) as index:
        index.check()
    assert content(home) == before


def test_a_clock_that_goes_back_hides_nothing(home: Home, source: Path) -> None:
    first = add_job(home, source)
    earlier = add_job(home, source, NOW - timedelta(days=400), readings=(reading("press", "P9"),))
    with Index.open(home) as index:
        assert [hit.id for hit in search(index)] == [first.id, earlier.id]
