"""Several press runs told in their order, and the first page that sums them up."""

from pathlib import Path
from typing import Any

import pytest

from recorder.model.job import Job, PhotoNote
from recorder.model.reading import Standing
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.pictures import PictureTray
from recorder.report.content.story import outcomes, steps
from recorder.report.content.text import brief
from tests.report import sample
from tests.report.sample import told


def composed(job: Job, folder: Path) -> Report:
    return compose(job, PictureTray(folder), sample.SETTINGS, sample.EDITION)


def pressed(splice: int, run: int, at: float, outcome: str, **more: Any) -> list[Any]:
    place = {"splice": splice, **more}
    return [
        told("pressure", 2.0 + run / 10, "bar", "so many bar", at, run=run, **place),
        told("bubbles", outcome != "accepted", None, "as seen", at + 1, **place),
        told("outcome", outcome, None, outcome, at + 2, **place),
    ]


def job_of(*groups: list[Any], **more: Any) -> Job:
    readings = tuple(reading for group in groups for reading in group)
    return Job(id="j", created_at=sample.NOW, version="0", readings=readings, **more)


REWORKED = job_of(
    pressed(1, 1, 0, "rejected"), pressed(2, 1, 10, "rework"), pressed(2, 2, 20, "accepted")
)


def test_a_rejected_splice_and_its_rework_in_order(tmp_path: Path) -> None:
    page = composed(REWORKED, tmp_path).overview
    assert page.headline == "Splice 2 accepted"
    assert [(step.heading, step.outcome.word) for step in page.steps] == [
        ("Splice 1", "rejected"),
        ("Splice 2, press run 1", "to be reworked"),
        ("Splice 2, press run 2", "accepted"),
    ]
    assert [step.outcome.word for step in steps(REWORKED, 2)] == ["to be reworked", "accepted"]


def test_what_the_next_press_run_came_to_corrects_nothing(tmp_path: Path) -> None:
    evidence = composed(REWORKED, tmp_path).evidence
    assert evidence
    assert evidence.corrections == ()


def test_another_word_on_the_same_press_run_corrects_it(tmp_path: Path) -> None:
    again = [told("outcome", "accepted", None, "no, it is fine", 9.0)]
    job = job_of(pressed(1, 1, 0, "rework"), again)
    evidence = composed(job, tmp_path).evidence
    assert evidence
    assert [(c.before, c.after) for c in evidence.corrections] == [("rework", "accepted")]
    assert outcomes(job, 1)[1].value == "accepted"


def test_one_press_run_has_no_story(tmp_path: Path) -> None:
    page = composed(job_of(pressed(1, 1, 0, "accepted")), tmp_path).overview
    assert (page.headline, page.steps, page.more) == ("Splice accepted", (), "")


def test_all_splices_of_a_good_day_are_summed_up(tmp_path: Path) -> None:
    groups = [pressed(n, 1, 10.0 * n, "accepted") for n in range(1, 7)]
    page = composed(job_of(*groups), tmp_path).overview
    assert page.headline == "All 6 splices accepted"
    assert len(page.steps) == 4
    assert page.more == "and 2 more press runs"


def test_the_picture_of_the_first_page_is_the_one_that_decides(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    good = sample.measurement("photo_3.jpg", 0.15, 70.1)
    bad = sample.measurement("photo_2.jpg", 0.9, 70.1)
    note = PhotoNote(file="photo_2.jpg", caption="Other side", stage="after", splice=2)
    changed = job.model_copy(
        update={
            "photos": (job.photos[0], note, job.photos[2]),
            "measurements": (job.measurements[0], bad, good),
        }
    )
    page = composed(changed, tmp_path).overview
    assert "photo_2.jpg" in page.picture.alt
    assert page.findings[0].value == "0.90 ± 0.08 mm"
    assert page.verdict.kind == "outside"


def test_without_a_photo_the_first_page_says_so(tmp_path: Path) -> None:
    picture = composed(REWORKED, tmp_path).overview.picture
    assert (picture.src, picture.caption) == ("", "The record holds no photo of this splice.")


@pytest.mark.parametrize(
    ("text", "most", "short"),
    [
        ("as it is", 8, "as it is"),
        ("cut between words", 12, "cut between…"),
        ("x" * 20, 10, "x" * 9 + "…"),
        ("a b\n c", 9, "a b c"),
    ],
)
def test_brief(text: str, most: int, short: str) -> None:
    assert brief(text, most) == short


def test_an_outcome_that_was_taken_back_is_none() -> None:
    first = told("outcome", "rejected", None, "rejected", 1)
    back = first.model_copy(update={"standing": Standing.WITHDRAWN})
    again = told("outcome", "accepted", None, "accepted", 3)
    assert outcomes(job_of([first, back]), 1) == {}
    assert outcomes(job_of([first, back, again]), 1) == {1: again}
