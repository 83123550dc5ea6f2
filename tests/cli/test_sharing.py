"""backup, restore and export as a user calls them."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.cli import main
from recorder.model.job import Job
from tests.archive.sample_jobs import NOW, add_job, from_card
from tests.archive.sharing.packages import GOOD, craft, told
from tests.cli.command import Ran, seamnote

Runner = Callable[..., Ran]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Home:
    monkeypatch.setenv("SEAMNOTE_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return Home.open(tmp_path / "home")


@pytest.fixture
def jobs(home: Home, tmp_path: Path) -> list[Job]:
    other = (from_card("job_number", "4818"), from_card("customer", "Veldt Sugar"))
    return [
        add_job(home, tmp_path / "camera"),
        add_job(home, tmp_path / "camera", NOW + timedelta(days=40), readings=other),
    ]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runner:
    def run(*arguments: str) -> Ran:
        code = main(["archive", *arguments])
        told = capsys.readouterr()
        return Ran(code, told.out, told.err)

    return run


def test_backup_check_and_restore(home: Home, jobs: list[Job], run: Runner) -> None:
    (home.identity / "signer.p12").write_bytes(b"key")
    made = run("backup", "a.zip")
    assert made.code == 0, made.err
    assert "backup of 2 jobs, written and verified" in made.out
    assert "encrypted by their passphrase as they are here: signer.p12" in made.out
    again = run("backup", "a.zip")
    assert again.code == 3
    assert "--replace" in again.complains_once()
    assert run("backup", "--replace", "--without-keys", "b.zip").out.count("signer.p12") == 0
    (checked,) = run("backup", "--check", "a.zip", "--json").objects
    assert (checked["jobs"], checked["kind"], checked["faults"]) == (2, "backup", [])
    assert checked["sha256"] in made.out
    refused = run("restore", "a.zip")
    assert refused.code == 3
    assert "archive import a.zip" in refused.complains_once()
    assert run("restore", "a.zip", "--home", "other").out == "2 jobs restored, and in the index\n"
    assert run("check", "--home", "other").code == 0


def test_a_damaged_job_makes_a_backup_that_needs_a_person(
    home: Home, jobs: list[Job], run: Runner
) -> None:
    sound = home.jobs / jobs[0].id / jobs[0].media[0].path
    sound.write_bytes(b"noise")
    made = run("backup", "a.zip")
    assert made.code == 4
    assert str(sound) in made.complains_once()
    assert "written and verified" in made.out
    assert run("backup", "--check", "a.zip").code == 4
    assert run("restore", "a.zip", "--home", "other").code == 4


def test_what_is_no_backup_is_refused_in_one_line(home: Home, tmp_path: Path, run: Runner) -> None:
    craft(tmp_path / "evil.zip", [("jobs/../../evil", b"x")])
    (tmp_path / "text.zip").write_text("text")
    for name in ("evil.zip", "text.zip", "none.zip"):
        for command in (("restore",), ("backup", "--check")):
            ran = run(*command, name)
            assert ran.code == 3
            assert name in ran.complains_once()
    assert not (tmp_path.parent / "evil").exists()
    assert list(home.jobs.iterdir()) == []


def test_what_a_package_says_does_not_steer_the_terminal(tmp_path: Path, run: Runner) -> None:
    actor = {"person": "\x1b[2J", "device": "van", "program": "x"}
    craft(tmp_path / "a.zip", GOOD, told(GOOD, by=actor, faults=["\x1b]0;x\x07 is gone"]))
    ran = run("backup", "--check", str(tmp_path / "a.zip"))
    assert ran.code == 4
    assert "\x1b" not in ran.out + ran.err
    assert "is gone" in ran.complains_once()


def test_no_home_is_made_by_a_backup(tmp_path: Path, run: Runner) -> None:
    ran = run("backup", "--home", str(tmp_path / "none"), str(tmp_path / "a.zip"))
    assert ran.code == 3
    assert "no home" in ran.complains_once()
    assert list(tmp_path.iterdir()) == []


def test_a_backup_that_cannot_be_meant_is_refused_or_told(home: Home, run: Runner) -> None:
    for arguments, code in (
        (["-"], 2), (["--check", "-"], 2), (["--check", "a.zip", "--replace"], 2),
        (["--check", "a.zip", "--without-keys"], 2), ([""], 3), ([".."], 3),
    ):  # fmt: skip
        ran = run("backup", *arguments)
        assert ran.code == code, arguments
        ran.complains_once()
    assert f"no jobs in {home.root}" in run("backup", "empty.zip").complains_once()


def test_export_of_what_is_asked_for(home: Home, jobs: list[Job], run: Runner) -> None:
    wholly = run("export", "--csv", "-")
    assert wholly.code == 0, wholly.err
    rows = list(csv.DictReader(wholly.out.splitlines()))
    assert {row["job_number"] for row in rows} == {"4817", "4818"}
    for options, number in (
        (["--words", "sugar"], "4818"), (["--where", "belt_width=6cm..8cm"], "4817"),
        (["--since", "2026-12"], "4818"), (["--until", "2026-11"], "4817"), (["4818"], "4818"),
        (["--outcome", "accepted"], "4817"),
    ):  # fmt: skip
        ran = run("export", "--csv", "-", *options)
        found = {row["job_number"] for row in csv.DictReader(ran.out.splitlines())}
        assert found == {number}, (options, ran.err)
    (line,) = run("export", "--jsonl", "-", "4818").out.splitlines()
    assert json.loads(line)["id"] == jobs[1].id
    assert "pressure_psi" in run("export", "--csv", "-", "--unit", "psi").out
    made = run("export", "--zip", "a.zip", "--words", "sugar")
    assert "export of 1 job, written and verified" in made.out
    assert run("export", "--csv", "a.csv").out == "a.csv: 2 jobs, written\n"
    near = run("export", "--csv", "c.csv", "--words", "suger")
    assert near.complains_once() == "seamnote: no job holds 'suger': searched sugar"
    (done,) = run("export", "--csv", "b.csv", "--json").objects
    assert done == {"path": "b.csv", "jobs": 2, "faults": []}


def test_a_wrong_export_is_refused(home: Home, jobs: list[Job], run: Runner) -> None:
    for options, code in (
        (["--csv", "a.csv", "--zip", "a.zip"], 2), ([], 2), (["--csv", "a.csv", "9999"], 2),
        (["--csv", "a.csv", "--where", "width>2"], 2), (["--csv", "a.csv", "--unit", "stone"], 2),
        (["--csv", "a.csv", "4817", "--words", "sugar"], 2), (["--zip", "-"], 2),
        (["--jsonl", "a.jsonl", "--unit", "psi"], 2), (["--csv", ""], 3), (["--zip", ".."], 3),
    ):  # fmt: skip
        ran = run("export", *options)
        assert ran.code == code, options
        ran.complains_once()
    nothing = run("export", "--csv", "a.csv", "--words", "zeppelin")
    assert nothing.code == 0
    assert "nothing was written" in nothing.complains_once()
    assert not Path("a.csv").exists()


def test_csv_on_a_narrow_terminal_is_utf_8_with_its_own_line_ends(
    home: Home, tmp_path: Path
) -> None:
    add_job(home, tmp_path / "camera", readings=(from_card("customer", "Müller"),))
    ran = seamnote(
        "archive", "export", "--csv", "-", cwd=tmp_path, PYTHONIOENCODING="ascii", PYTHONUTF8="0"
    )
    assert "Müller" in ran.out


def test_an_export_that_may_lack_a_job_needs_a_person(
    home: Home, jobs: list[Job], run: Runner
) -> None:
    (home.jobs / jobs[0].id / "job.json").write_bytes(b"{")
    assert run("rebuild").code == 4
    for form in ("--csv", "--jsonl", "--zip"):
        made = run("export", form, f"all{form}")
        assert made.code == 4
        assert "1 job folder cannot be read" in made.err
        assert run("export", form, f"one{form}", jobs[1].id).code == 0
