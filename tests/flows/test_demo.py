"""The demo against the scenario's truth: right, or marked; and everything a user does after it."""

import json
import resource
import subprocess
from pathlib import Path
from typing import Any

import pytest

from recorder.archive.jobs.folder import JobFolder
from recorder.model.job import Job, in_force, to_confirm
from recorder.model.reading import Reading, Standing
from recorder.resources import shipped
from tests.cli.command import Ran, seamnote

MEDIA = Path(__file__).parents[2] / "demo_media"
TRUTH = json.loads((MEDIA / "narration_truth.json").read_text())
PHOTO_TRUTH = json.loads((MEDIA / "photo_truth.json").read_text())
PHOTOS = [name for name in PHOTO_TRUTH if name.endswith(".jpg")]

Demo = tuple[Path, Ran]


@pytest.fixture(scope="session")
def job(demo: Demo) -> Job:
    (folder,) = (demo[0] / "jobs").iterdir()
    return JobFolder(folder).load()


@pytest.fixture(scope="session")
def pdf(demo: Demo) -> Path:
    """As the customer approved it."""
    (path,) = (demo[0] / "jobs").glob("*/reports/*-approved.pdf")
    return path


@pytest.fixture(scope="session")
def pages(pdf: Path) -> str:
    done = subprocess.run(
        ["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True
    )
    return done.stdout


def test_the_demo_passes_and_says_where_the_report_lies(demo: Demo, pdf: Path) -> None:
    home, ran = demo
    assert ran.code == 0, ran.err
    assert f"Signed report    {pdf.with_stem(pdf.stem.removesuffix('-approved'))}" in ran.out
    assert f"Approved report  {pdf}" in ran.out
    stages = [line for line in ran.err.splitlines() if line.startswith("  ✓ ")]
    assert len(stages) >= 8
    assert "Traceback" not in ran.err
    assert pdf.is_relative_to(home)


def is_true(reading: Reading, truth: object) -> bool:
    if isinstance(truth, float):
        return reading.value == pytest.approx(truth, rel=1e-4)
    return reading.value == truth


def told() -> list[tuple[int, str, Any]]:
    rows = [(1, name, value) for name, value in TRUTH["job"].items()]
    for number, splice in enumerate(TRUTH["splices"], 1):
        rows += [(number, name, value) for name, value in splice.items()]
    return rows


@pytest.mark.parametrize(("splice", "name", "truth"), told())
def test_what_was_told_is_in_force_and_right(job: Job, splice: int, name: str, truth: Any) -> None:
    reading = in_force(job.readings, splice)[name]
    assert is_true(reading, truth), reading


def test_a_reading_that_is_wrong_is_marked(job: Job) -> None:
    """Every reading of the narration is a truth, was replaced by one, or is doubtful."""
    replaced = {(r["splice"], r["field"], r["value"]) for r in TRUTH["replaced"]}
    truths = {(splice, name): value for splice, name, value in told()}
    heard = [reading for reading in job.readings if reading.evidence.source == "spoken"]
    assert len(heard) >= 12
    for reading in heard:
        right = is_true(reading, truths.get((reading.splice, reading.field)))
        corrected = (reading.splice, reading.field, reading.value) in replaced
        assert right or corrected or reading.standing is Standing.DOUBTFUL, reading


def test_most_is_clear_so_that_the_demo_shows_more_than_questions(job: Job) -> None:
    heard = [reading for reading in job.readings if reading.evidence.source == "spoken"]
    clear = [reading for reading in heard if reading.standing is Standing.CLEAR]
    assert len(clear) >= 0.7 * len(heard)


def test_the_correction_keeps_its_history(job: Job) -> None:
    tops = [r.value for r in job.readings if r.field == "top_temperature" and r.role == "used"]
    assert tops == [175.0, 172.0]


def test_the_unit_that_was_said_is_kept(job: Job) -> None:
    pressure = in_force(job.readings)["pressure"]
    assert pressure.as_said is not None
    assert (pressure.as_said.value, pressure.as_said.unit) == (32.0, "psi")


@pytest.mark.parametrize("words", TRUTH["notes"])
def test_what_was_not_understood_is_kept_as_a_note(job: Job, words: str) -> None:
    assert any(words in note.text for note in job.notes)


def test_measurements_hold_the_truth_within_their_uncertainty(job: Job) -> None:
    assert len(job.measurements) == 3
    for seam in job.measurements:
        truth = PHOTO_TRUTH[seam.file]["truth"]
        for name in ("gap_max", "splice_width"):
            found = getattr(seam, name)
            assert found is not None, name
            if found.below:
                assert truth[name] <= found.value
            else:
                assert abs(found.value - truth[name]) <= found.U
    assert [seam.decision for seam in job.measurements] == ["outside", "within", "within"]


def test_the_report_shows_every_value_and_marks_every_doubt(job: Job, pages: str) -> None:
    for splice, name, _ in told():
        shown = in_force(job.readings, splice)[name]
        if isinstance(shown.value, float | str) and shown.field != "outcome":
            text = shown.shown().split(" (")[0]
            assert text in pages, (name, text)
    assert "32 psi" in pages
    assert "accepted" in pages.lower()
    assert "rejected" in pages.lower()
    assert pages.lower().count("not confirmed") >= len(to_confirm(job)) > 0


def test_customer_and_technician_say_that_they_are_a_demo(pages: str) -> None:
    assert "DEMO Imke Dorn" in pages
    assert "DEMO Tilda Brannock, 20" in pages
    assert "drawn on the device and witnessed by the technician" in pages


def test_the_report_has_one_page_for_a_minute_then_the_evidence(pdf: Path, pages: str) -> None:
    first, *evidence = pages.split("\f")[:-1]
    assert "Technician, for Quillback Belt Service" in first
    assert "drawn on the device" in first
    before, annex = "".join(evidence).split("\nAnnex\n")
    assert all(name in before for name in PHOTOS)
    assert all(name in annex for name in PHOTOS)
    done = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True)
    assert "A4" in done.stdout
    assert pdf.stat().st_size <= 2_000_000


def test_verify_accepts_the_report_and_refuses_a_flipped_byte(
    demo: Demo, pdf: Path, tmp_path: Path
) -> None:
    home = demo[0]
    good = seamnote("verify", pdf, cwd=tmp_path, home=home)
    assert good.code == 0, good.err
    assert "the customer's drawing, witnessed by the technician" in good.out
    content = bytearray(pdf.read_bytes())
    content[len(content) // 2] ^= 1
    forged = tmp_path / "forged.pdf"
    forged.write_bytes(content)
    bad = seamnote("verify", forged, cwd=tmp_path, home=home)
    assert bad.code == 5
    assert "forged.pdf is not the report that was signed" in bad.complains_once()


def test_a_signer_whom_this_home_does_not_know_needs_a_person(pdf: Path, tmp_path: Path) -> None:
    ran = seamnote("verify", pdf, cwd=tmp_path)
    assert ran.code == 4
    assert "fingerprint" in ran.complains_once()


@pytest.mark.parametrize("query", [
    ["forklift"],
    ["larkfield", "bakery"],
    ["4817"],
    ["--where", "top_temperature>=340degF"],
    ["--where", "belt_width=60mm..80mm", "--outcome", "accepted"],
    ["--where", "pressure=31psi..33psi"],
    ["--where", "bubbles=no"],
    ["--since", "2026"],
    [],
])  # fmt: skip
def test_search_finds_the_job(demo: Demo, job: Job, query: list[str], tmp_path: Path) -> None:
    ran = seamnote("search", *query, "--json", cwd=tmp_path, home=demo[0])
    assert ran.code == 0, ran.err
    assert [hit["id"] for hit in ran.objects] == [job.id]


@pytest.mark.parametrize("query", [
    ["bulldozer"],
    ["--where", "top_temperature>=350degF"],
    ["--where", "belt_width=71mm..80mm"],
    ["--until", "2020"],
])  # fmt: skip
def test_search_leaves_out_what_does_not_match(
    demo: Demo, query: list[str], tmp_path: Path
) -> None:
    ran = seamnote("search", *query, "--json", cwd=tmp_path, home=demo[0])
    assert (ran.code, ran.objects) == (0, [])


def test_show_prints_the_job_and_its_json(demo: Demo, job: Job, tmp_path: Path) -> None:
    plain = seamnote("show", "4817", cwd=tmp_path, home=demo[0])
    assert plain.code == 0
    assert "Larkfield Bakery" in plain.out
    assert "forklift" in plain.out
    (shown,) = seamnote("show", "last", "--json", cwd=tmp_path, home=demo[0]).objects
    assert shown["id"] == job.id


def test_the_same_files_give_the_same_job(demo: Demo, job: Job, tmp_path: Path) -> None:
    began = resource.getrusage(resource.RUSAGE_CHILDREN)
    ran = seamnote("process", shipped("demo_media") / "job", cwd=tmp_path, home=demo[0])
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert ended.ru_utime - began.ru_utime < 5  # hearing and measuring anew takes half a minute
    assert job.id in ran.complains_once()


def test_rebuild_finds_the_same(demo: Demo, job: Job, tmp_path: Path) -> None:
    (demo[0] / "index.sqlite").unlink()
    ran = seamnote("archive", "rebuild", "--json", cwd=tmp_path, home=demo[0])
    assert (ran.code, ran.objects) == (
        0,
        [{"folders": 1, "jobs": 1, "faults": [], "remarks": []}],
    )
    found = seamnote("search", "forklift", "--json", cwd=tmp_path, home=demo[0])
    assert [hit["id"] for hit in found.objects] == [job.id]
    assert seamnote("archive", "check", cwd=tmp_path, home=demo[0]).code == 0


def test_a_second_demo_in_the_same_place_is_fresh(tmp_path: Path) -> None:
    from recorder.flows.demo import fresh_home

    assert fresh_home(tmp_path) == tmp_path
    (tmp_path / "jobs").mkdir()
    assert fresh_home(tmp_path).parent == tmp_path
    assert not fresh_home(tmp_path).exists()
