"""The fault bench itself: it kills where it says, and finds what was lost."""

import json
import random
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.index.index import Index
from tests.archive.sample_jobs import add_job
from tests.bench import faults, faults_home, faults_kill
from tests.bench.faults_commands import Command
from tests.bench.faults_damage import OF_A_JOB
from tests.bench.faults_home import Material
from tests.bench.faults_run import run, tripped


@pytest.fixture
def home(tmp_path: Path) -> Path:
    home = Home.open(tmp_path / "home")
    add_job(home, tmp_path / "files")
    Index.rebuild(home)
    return home.root


def _without_reading(job: Path) -> None:
    record = json.loads((job / "job.json").read_text())
    del record["readings"][3]
    (job / "job.json").write_text(json.dumps(record))


def _without_note(job: Path) -> None:
    record = json.loads((job / "job.json").read_text())
    (job / "job.json").write_text(json.dumps({**record, "notes": []}))


def _other_sound(job: Path) -> None:
    next(job.glob("media/*.flac")).write_bytes(b"another sound")


def _shorter_chain(job: Path) -> None:
    lines = (job / "events.jsonl").read_bytes().splitlines(keepends=True)
    (job / "events.jsonl").write_bytes(b"".join(lines[:-1]))


LOSSES: dict[Callable[[Path], None], str] = {
    _without_reading: "readings are gone",
    _without_note: "frayed",
    _other_sound: ".flac",
    _shorter_chain: "events are not those",
    shutil.rmtree: "the job is gone",  # type: ignore[dict-item]
}


@pytest.mark.parametrize("harm", LOSSES, ids=lambda harm: harm.__name__)
def test_a_planted_loss_is_found(home: Path, harm: Callable[[Path], None]) -> None:
    before = faults_home.held(home)
    assert faults_home.lost(before, faults_home.held(home)) == []
    assert faults_kill.history_gaps(home) == []
    harm(home / "jobs" / next(iter(before)))
    told = faults_home.lost(before, faults_home.held(home))
    assert any(LOSSES[harm] in line for line in told), told


def test_a_reading_without_an_event_is_found(home: Path) -> None:
    (job,) = (path for path in (home / "jobs").iterdir() if path.is_dir())
    lines = (job / "events.jsonl").read_text().splitlines(keepends=True)
    (job / "events.jsonl").write_text("".join(lines[:6]))
    assert "outcome" in "".join(faults_kill.history_gaps(home))


@pytest.mark.parametrize("case", OF_A_JOB[:6], ids=lambda case: case.harm.__name__)
def test_a_harm_changes_the_file(home: Path, case: object) -> None:
    path = next(home.glob("jobs/*/job.json"))
    before = path.read_bytes()
    case.harm(path)  # type: ignore[attr-defined]
    assert not path.exists() or path.read_bytes() != before


def test_what_a_killed_command_lost_is_counted(tmp_path: Path, home: Path) -> None:
    def broken(place: Path, material: Material, ran: object) -> list[str]:
        return [] if ran.code == 0 else ["what it told is not there"]  # type: ignore[attr-defined]

    command = Command("rebuild", 100, "after", 0, lambda *_: ["archive", "rebuild"], broken)
    material = Material(tmp_path / "place", tmp_path, home, home)
    material.place.mkdir()
    known = faults_kill.undisturbed(command, material)
    assert any(told.startswith("BEGIN") for told in known.deeds)
    dice = random.Random(1)
    kills = [
        *faults_kill.at_moments(command, material, known, 1, dice),
        *faults_kill.at_deeds(command, material, known, dice, every=len(known.deeds)),
    ]
    assert [kill.place for kill in kills] == ["moment", "deed"]
    assert all(kill.losses == ["what it told is not there"] for kill in kills)
    assert all(kill.unmended == [] for kill in kills)
    last = list(faults.table(kills))[-1].split()
    assert last == ["all", "2", "2", "0", "0"]


def test_a_power_cut_takes_what_had_not_reached_the_disk(tmp_path: Path, home: Path) -> None:
    log = tmp_path / "deeds"
    arguments = ["confirm", "4817", "--set=dwell_time=3 min"]
    copy = tmp_path / "copy" / "home"
    shutil.copytree(home, copy)
    tripped(arguments, copy, tmp_path / "copy", log=log, at=30)
    deeds = log.read_text().splitlines()
    number = next(n for n, told in enumerate(deeds, 1) if "fsync" in told and "events" in told)
    whole = next(copy.glob("jobs/*/events.jsonl")).stat().st_size
    events = next(home.glob("jobs/*/events.jsonl"))
    before = events.read_bytes()
    ran = tripped(arguments, home, home, at=number, tear=7)
    assert ran.killed
    assert ran.out == ""
    assert len(before) <= events.stat().st_size < whole
    assert events.read_bytes().startswith(before)
    assert run(["archive", "check"], home).code == 0  # what was never told is no fault
