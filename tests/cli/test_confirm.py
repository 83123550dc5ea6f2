"""Going through the doubtful readings: by answers, by options, and what is left on disk."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.model.job import Job, MediaKind, in_force
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Spoken, Standing
from tests.cli.command import seamnote


def doubt(field: str, value: float | bool | str, unit: str | None, **more: object) -> Reading:
    return Reading.model_validate({
        "field": field, "value": value, "unit": unit, "standing": Standing.DOUBTFUL,
        "evidence": Spoken(file="a.wav", said="about that", start_s=1.0, end_s=2.0),
        "why": "heard in noise", **more,
    })  # fmt: skip


DOUBTS = (
    doubt("pressure", 2.068, "bar", as_said=Quantity(value=30, unit="psi"), candidates=(2.206,)),
    doubt("top_temperature", 170.0, "degC", candidates=(172.0,)),
    doubt("bubbles", False, None),
)


@pytest.fixture
def folder(tmp_path: Path) -> JobFolder:
    original = tmp_path / "a.wav"
    original.write_bytes(b"sound")
    home = Home.open(tmp_path / "home")
    made, job = JobFolder.create(home, [original], [MediaKind.AUDIO], datetime.now(UTC))
    made.save(job.model_copy(update={"readings": DOUBTS, "complete": True}))
    return made


def values(job: Job) -> dict[str, tuple[object, str]]:
    return {n: (r.value, r.standing.value) for n, r in in_force(job.readings).items()}


def test_answers_confirm_replace_and_correct(tmp_path: Path, folder: JobFolder) -> None:
    ran = seamnote("confirm", "last", cwd=tmp_path, stdin="32 psi\nno, one seventy two\nno\n")
    assert ran.code == 0, ran.err
    assert "nothing is left to confirm" in ran.out
    found = values(folder.load())
    assert found["pressure"] == (pytest.approx(2.206322, abs=1e-5), "confirmed")
    assert found["top_temperature"] == (172.0, "confirmed")
    assert found["bubbles"] == (False, "confirmed")
    assert folder.load().readings[: len(DOUBTS)] == DOUBTS


def test_yes_keeps_what_was_heard_and_a_bare_number_takes_the_only_unit(
    tmp_path: Path, folder: JobFolder
) -> None:
    ran = seamnote("confirm", "last", cwd=tmp_path, stdin="y\n172\nyes\n")
    assert ran.code == 0, ran.out
    found = values(folder.load())
    assert found["pressure"] == (2.068, "confirmed")
    assert found["top_temperature"] == (172.0, "confirmed")
    assert found["bubbles"] == (True, "confirmed")


def test_later_and_the_end_of_input_leave_the_rest(tmp_path: Path, folder: JobFolder) -> None:
    ran = seamnote("confirm", "last", cwd=tmp_path, stdin="l\n172 degC\n")
    assert ran.code == 4
    assert "2 readings are left" in ran.out
    assert values(folder.load())["top_temperature"] == (172.0, "confirmed")


def test_nonsense_is_asked_again(tmp_path: Path, folder: JobFolder) -> None:
    ran = seamnote("confirm", "last", cwd=tmp_path, stdin="blue\n2 mm\n2.2 bar\nq\n")
    assert ran.code == 4
    assert ran.out.count("; ") >= 2
    assert values(folder.load())["pressure"] == (2.2, "confirmed")


def test_options_are_all_kept_or_none(tmp_path: Path, folder: JobFolder) -> None:
    before = folder.load()
    ran = seamnote(
        "confirm", "last", "--accept", "pressure", "--set", "top_temperature=hot", cwd=tmp_path
    )
    assert ran.code == 2
    assert folder.load() == before
    ran = seamnote(
        "confirm", "last", "--json", "--accept", "pressure", "--accept", "bubbles",
        "--set", "top_temperature=172 degC", "--set", "ambient_temperature=70 degF", cwd=tmp_path,
    )  # fmt: skip
    assert ran.code == 0, ran.err
    assert ran.objects[0]["to_confirm"] == []
    assert values(folder.load())["ambient_temperature"][1] == "confirmed"


def test_json_lists_what_is_in_doubt_and_changes_nothing(tmp_path: Path, folder: JobFolder) -> None:
    before = folder.load()
    ran = seamnote("confirm", "last", "--json", cwd=tmp_path)
    assert ran.code == 4
    listed = json.loads(ran.out)["to_confirm"]
    assert [r["field"] for r in listed] == ["pressure", "top_temperature", "bubbles"]
    assert folder.load() == before


def test_yes_keeps_the_evidence(tmp_path: Path, folder: JobFolder) -> None:
    assert seamnote("confirm", "last", "--accept", "pressure", cwd=tmp_path).code == 4
    pressure = in_force(folder.load().readings)["pressure"]
    assert pressure.evidence == DOUBTS[0].evidence
    assert pressure.standing is Standing.CONFIRMED
    assert "confirmed by a person at 2" in pressure.why


def test_a_splice_that_the_job_has_not_is_refused(tmp_path: Path, folder: JobFolder) -> None:
    ran = seamnote(
        "confirm", "last", "--set", "pressure=2 bar", "--splice", "3", cwd=tmp_path
    )  # fmt: skip
    assert ran.code == 2
    assert "no run 1 of splice 3" in ran.complains_once()


def test_an_unfinished_job_or_a_changed_original_is_not_signed(
    tmp_path: Path, folder: JobFolder
) -> None:
    secret = {"SEAMNOTE_PASSPHRASE": "a secret of the test"}
    (original,) = (folder.path / "media").glob("*_*")
    assert seamnote("archive", "check", cwd=tmp_path).code == 0
    original.write_bytes(b"another sound")
    ran = seamnote("report", "last", cwd=tmp_path, **secret)
    assert ran.code == 3
    assert "is not the file that was recorded" in ran.err
    checked = seamnote("archive", "check", cwd=tmp_path)
    assert checked.code == 4
    assert original.name in checked.complains_once()
    original.write_bytes(b"sound")
    folder.update(lambda job: job.model_copy(update={"complete": False}))
    ran = seamnote("report", "last", cwd=tmp_path, **secret)
    assert ran.code == 3
    assert "was interrupted" in ran.err
    assert not list((folder.path / "reports").iterdir())


def test_report_signs_with_doubts_and_says_so(tmp_path: Path, folder: JobFolder) -> None:
    ran = seamnote("report", "last", "--json", cwd=tmp_path)
    assert ran.code == 3
    assert "SEAMNOTE_PASSPHRASE" in ran.complains_once()
    secret = {"SEAMNOTE_PASSPHRASE": "a secret of the test"}
    ran = seamnote("report", "last", "--json", cwd=tmp_path, **secret)
    assert ran.code == 4, ran.err
    (done,) = ran.objects
    assert done["not_confirmed"] == ["pressure", "top_temperature", "bubbles"]
    assert seamnote("verify", done["pdf"], cwd=tmp_path).code == 0
    wrong = seamnote("report", "last", cwd=tmp_path, SEAMNOTE_PASSPHRASE="another")
    assert wrong.code == 3
    assert "passphrase" in wrong.complains_once()
    key = (tmp_path / "home" / "identity" / "signer.p12").read_bytes()
    assert b"a secret of the test" not in key
