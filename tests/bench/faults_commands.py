"""The five commands that the fault bench kills: how they are called, and what they acknowledge.

A command *acknowledges* what it has told: a line on standard output, or a stage with its tick on
the screen. Each such line is a claim that must hold from then on.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from recorder.archive.jobs.folder import JobFolder
from recorder.archive.jobs.reports import reports
from recorder.flows import verify
from recorder.model.job import Job
from tests.archive.finding.asking import search
from tests.bench import faults_home
from tests.bench.faults_home import NUMBER, Material
from tests.bench.faults_run import Ran, run

ANSWERS = {
    "top_temperature": "172 degC", "dwell_time": "3 min", "cool_down_temperature": "55 degC",
    "bubbles": "no", "outcome": "accepted",
}  # fmt: skip
CARD_FIELDS = {"job_number", "customer", "belt_width", "belt_thickness"}
TICKED = re.compile(r"✓ (.+?) \(\d+\.\d s\)")
BEGUN = re.compile(r"… (.+)")


class Command(NamedTuple):
    """name. percent: its share of the kills at random moments; less for what takes long. on:
    'before' or 'after', the home of the material to begin with. code: of an undisturbed run.
    arguments: for the home and the material. broken: what of all that the command told does not
    hold, one line each, for the home, the material and the command as it ran.
    """

    name: str
    percent: int
    on: str
    code: int
    arguments: Callable[[Path, Material], list[str]]
    broken: Callable[[Path, Material, Ran], list[str]]


def _process(home: Path, material: Material) -> list[str]:
    return ["process", str(material.source)]


def _confirm(home: Path, material: Material) -> list[str]:
    answers = [f"--set={field}={value}" for field, value in ANSWERS.items()]
    return ["confirm", NUMBER, "--accept=pressure", "--accept=bottom_temperature", *answers]


def _report(home: Path, material: Material) -> list[str]:
    return ["report", NUMBER]


def _rebuild(home: Path, material: Material) -> list[str]:
    return ["archive", "rebuild"]


def _backup(home: Path, material: Material) -> list[str]:
    return ["archive", "backup", str(target(home)), "--replace"]


def target(home: Path) -> Path:
    return home.with_name("backup.zip")


def _processed(home: Path, material: Material, ran: Ran) -> list[str]:
    ticked, begun = TICKED.findall(ran.shown), BEGUN.findall(ran.shown.replace("\r", "\n"))
    told = [text for text in (*ticked, *begun) if not text.startswith("keeping")]
    if not told and not ran.out:
        return []
    made = _job(home, material)
    if made is None:
        return ["the job is not there, though its files were kept"]
    folder, job = made
    broken = []
    if not {reading.field for reading in job.readings} >= CARD_FIELDS:
        broken.append("what the job card says is not in the record")
    heard = {transcript.file for transcript in job.transcripts}
    measured = {seam.file for seam in job.measurements}
    for text in ticked:
        deed, _, file = text.partition(" ")
        if file not in {"hearing": heard, "measuring": measured}.get(deed, {file}):
            broken.append(f"{text}: done, and not in the record")
    entered = any(text.startswith("entering") for text in ticked)
    if (entered or ran.out) and not (job.complete and job.id in _found(home)):
        broken.append("the job is not complete or not found")
    if ran.out and not (folder.derived / "draft.pdf").is_file():
        broken.append("there is no draft")
    return broken


def _job(home: Path, material: Material) -> tuple[JobFolder, Job] | None:
    names = {path.name for path in material.source.iterdir()}
    for folder, job in faults_home.jobs(home).values():
        if {media.name for media in job.media} == names:
            return folder, job
    return None


def _found(home: Path) -> set[str]:
    with Index.open(Home(home)) as index:
        return {hit.id for hit in search(index, limit=1000)}


def _confirmed(home: Path, material: Material, ran: Ran) -> list[str]:
    now, before = _job(home, material), _job(material.after, material)
    assert before
    if now is None:
        return ["the job is gone"]
    added = [reading.field for reading in now[1].readings[len(before[1].readings) :]]
    told = re.findall(r"^kept: (\w+) =", ran.out, re.MULTILINE)
    lacking = [field for field in told if field not in added]
    return [f"{field} was kept, and is not in the record" for field in lacking]


def _reported(home: Path, material: Material, ran: Ran) -> list[str]:
    told = re.search(r"^Signed report +(.+)$", ran.out, re.MULTILINE)
    return _bad_report(home, Path(told[1].strip())) if told else []


def _bad_report(home: Path, pdf: Path) -> list[str]:
    if not pdf.is_file():
        return [f"{pdf} was written, and is not there"]
    if failed := verify.check(Home(home), pdf).failed:
        return [f"{pdf}: {failed}"]
    folder = JobFolder(pdf.parent.parent)
    if pdf.name not in {Path(record.path).name for record in reports(folder)}:
        return [f"{pdf} has no record"]
    if pdf.name not in (folder.path / "events.jsonl").read_text():
        return [f"{pdf} has no event"]
    return []


def _rebuilt(home: Path, material: Material, ran: Ran) -> list[str]:
    return [] if _found(home) == _found(material.after) else ["the index finds other jobs"]


def _backed_up(home: Path, material: Material, ran: Ran) -> list[str]:
    if not target(home).exists():
        return ["the backup is not there"] if "verified" in ran.out else []
    checked = run(["archive", "backup", "--check", str(target(home))], home)
    return [] if checked.code == 0 else [f"the backup is not whole: {checked.last_line()}"]


COMMANDS = (
    Command("process", 12, "before", 0, _process, _processed),
    Command("confirm", 22, "after", 0, _confirm, _confirmed),
    Command("report", 20, "after", 0, _report, _reported),
    Command("rebuild", 23, "after", 0, _rebuild, _rebuilt),
    Command("backup", 23, "after", 0, _backup, _backed_up),
)
