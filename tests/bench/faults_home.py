"""The homes on which the fault bench works, and what is compared of them."""

from __future__ import annotations

import hashlib
import json
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.folders import job_folders
from recorder.model.job import Job
from recorder.resources import shipped
from recorder.voice.audio import SAMPLE_RATE_HZ, decode
from tests.archive.sample_jobs import add_job
from tests.bench.faults_run import Ran, run
from tests.voice.sound import write

# Where the two recordings lie in the narration of the demo, in seconds.
CUTS = {"narration_1.wav": (33.8, 37.0), "narration_2.wav": (48.7, 53.2)}
PHOTO = "photo_3_accepted.jpg"
NUMBER = "4818"
CARD = f"""job_number = "{NUMBER}"
customer = "Larkfield Bakery"
belt_width = "70 mm"
belt_thickness = "2 mm"

[reference_card]
lies_on = "belt"
"""


@dataclass(frozen=True)
class Material:
    """place: scratch. source: the folder of one job, two recordings and a photo. before: a home
    with two finished jobs and a signing key. after: the same home once ``source`` was processed
    and reported.
    """

    place: Path
    source: Path
    before: Path
    after: Path

    def copy(self, home: Path) -> Path:
        """A copy of a home to do harm to, at the one place for it."""
        target = self.place / "scratch" / "home"
        shutil.rmtree(target.parent, ignore_errors=True)
        shutil.copytree(home, target, symlinks=True)
        return target


def make(place: Path) -> Material:
    source, before, after = place / "source", place / "before", place / "after"
    source.mkdir(parents=True)
    narration = decode(shipped("demo_media") / "job" / "narration.flac")
    for name, (start_s, end_s) in CUTS.items():
        cut = narration[int(start_s * SAMPLE_RATE_HZ) : int(end_s * SAMPLE_RATE_HZ)]
        write(source / name, cut, SAMPLE_RATE_HZ)
    shutil.copy2(shipped("demo_media") / "job" / PHOTO, source)
    (source / "job.toml").write_text(CARD)
    home = Home.open(before)
    for name in ("one", "two"):
        add_job(home, place / "files" / name)
    done(run(["report", "last"], before), 4)
    shutil.copytree(before, after)
    done(run(["process", str(source)], after), 0)
    done(run(["report", NUMBER], after), 0)
    return Material(place, source, before, after)


def done(ran: Ran, *codes: int) -> Ran:
    """The command as it ended, which must be with one of the codes."""
    if ran.code not in codes:
        raise RuntimeError(f"the material could not be made: {ran.shown}{ran.out}")
    return ran


def jobs(home: Path) -> dict[str, tuple[JobFolder, Job]]:
    """Every job by its originals. Raises BadJobFolder for one that cannot be read."""
    loaded = [(folder, folder.load()) for folder in job_folders(Home(home))]
    return {_originals(job): (folder, job) for folder, job in loaded}


def _originals(job: Job) -> str:
    return " ".join(sorted(media.sha256[:12] for media in job.media))


def state(home: Path) -> dict[str, Any]:
    """What a person would call the content of a home, without times: equal after equal deeds."""
    return {originals: _content(job) for originals, (_, job) in jobs(home).items()}


def _content(job: Job) -> dict[str, Any]:
    in_force = {}
    for reading in job.readings:
        key = f"{reading.field} {reading.splice} {reading.run} {reading.role}"
        in_force[key] = (reading.value, reading.unit, reading.standing.value)
    parts = job.model_dump(mode="json", include={"transcripts", "notes", "photos", "measurements"})
    return {"complete": job.complete, "in force": in_force, **parts}


@dataclass(frozen=True)
class Held:
    """What one job held: parts of the record as JSON, each with a name; digests of files by path;
    the acknowledged lines of its events.
    """

    readings: tuple[str, ...]
    parts: frozenset[str]
    files: dict[str, str]
    events: bytes


def held(home: Path) -> dict[str, Held]:
    """What all jobs hold, by folder."""
    return {folder.id: _held(folder, job) for folder, job in jobs(home).values()}


def _held(folder: JobFolder, job: Job) -> Held:
    record = job.model_dump(mode="json")
    files = [folder.path / media.path for media in job.media if not media.removed]
    files += [pdf for pdf in folder.reports.glob("*.pdf") if pdf.with_suffix(".json").exists()]
    return Held(
        readings=tuple(json.dumps(reading) for reading in record["readings"]),
        parts=frozenset(
            json.dumps([part, entry])
            for part in ("transcripts", "notes", "photos", "stages")
            for entry in record[part]
        ),
        files={path.relative_to(folder.path).as_posix(): _sha256(path) for path in files},
        events=_acknowledged(folder),
    )


def _acknowledged(folder: JobFolder) -> bytes:
    """The lines up to the last that belongs to the record as it stands."""
    path = folder.path / "events.jsonl"
    if not path.exists():
        return b""
    record = hashlib.sha256((folder.path / "job.json").read_bytes()).hexdigest()
    lines = path.read_bytes().splitlines(keepends=True)
    last = max((n for n, line in enumerate(lines, 1) if record in line.decode()), default=0)
    return b"".join(lines[:last])


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "missing"


def lost(before: dict[str, Held], after: dict[str, Held]) -> list[str]:
    """One line for each thing that was held before and is not any more."""
    found = [f"{job}: the job is gone" for job in before.keys() - after.keys()]
    for job in before.keys() & after.keys():
        was, now = before[job], after[job]
        if not _in_order(was.readings, now.readings):
            found.append(f"{job}: readings are gone")
        found += [f"{job}: gone: {part[:80]}" for part in was.parts - now.parts]
        found += [
            f"{job}/{path}: {now.files.get(path, 'not known any more')}"
            for path, digest in was.files.items()
            if now.files.get(path) != digest
        ]
        if not now.events.startswith(was.events):
            found.append(f"{job}: events are not those that were there")
    return found


def _in_order(few: tuple[str, ...], many: tuple[str, ...]) -> bool:
    rest = iter(many)
    return all(entry in rest for entry in few)


def litter(home: Path) -> list[str]:
    """Files that only a writer at work should have."""
    names = (path.relative_to(home).as_posix() for path in home.rglob(".*"))
    return sorted(name for name in names if not name.endswith(".lock"))
