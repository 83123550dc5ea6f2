"""The annex adds up, and says what it cannot show."""

from pathlib import Path

import pytest

from recorder.model.measurement import BudgetTerm, Decision, Measurement, SeamMeasurement
from recorder.report.content.annex import pages
from recorder.report.content.sources import Annex
from tests.report import sample


def one(seam: SeamMeasurement, folder: Path) -> Annex:
    job = sample.demo_job(folder)
    (first, *_) = pages(job.model_copy(update={"measurements": (seam,)}))
    return first


def test_every_number_of_every_photo_is_listed(tmp_path: Path) -> None:
    parts = pages(sample.demo_job(tmp_path))
    assert [part.heading for part in parts] == [
        "Splice 1, after pressing: photo_1.jpg",
        "Splice 2, before pressing: photo_2.jpg",
        "Splice 2, after pressing: photo_3.jpg",
    ]
    seam = sample.measurement("photo_1.jpg", 0.9, 70.1)
    numbers = [value for name in SeamMeasurement.model_fields
               if isinstance(value := getattr(seam, name), Measurement)]  # fmt: skip
    assert len(numbers) == 13
    assert sorted(row.value for row in parts[0].findings) == sorted(n.shown() for n in numbers)
    assert all(row.u and row.terms for row in parts[0].findings)
    assert "Mean / largest gap by flank, mm: 1: 0.47 ± 0.05 / 0.81 ± 0.08; 2:" in parts[0].facts[-1]
    assert parts[0].facts[-1].count(";") == 13


def test_a_photo_without_a_splice_is_not_left_out(tmp_path: Path) -> None:
    job = sample.demo_job(tmp_path)
    parts = pages(job.model_copy(update={"photos": job.photos[:2]}))
    assert parts[-1].heading == "Without a splice: photo_3.jpg"


def test_the_shares_of_a_budget(tmp_path: Path) -> None:
    """3-4-5; and two terms of one cause, which add before they are squared: 3 - 1 + ... = 2."""
    seam = SeamMeasurement(
        file="photo_1.jpg",
        status="measured",
        gap_max=sample.mm(0.9, 0.10),
        skew=Measurement(value=0.2, unit="deg", U=0.13, k=2.5),
        budget={
            "gap_max": (
                BudgetTerm(name="blur", u=0.03),
                BudgetTerm(name="lens", u=0.04, dof=8),
                BudgetTerm(name="contrast", u=0.0),
                BudgetTerm(name="print scale", u=0.00001),
            ),
            "skew": (
                BudgetTerm(name="lens", u=0.06, group="optics"),
                BudgetTerm(name="tilt", u=-0.01, group="optics"),
                BudgetTerm(name="edge scatter", u=0.001),
            ),
        },
    )
    gap, skew = one(seam, tmp_path).findings
    assert gap.u == "0.0500"
    assert gap.terms == (
        "lens 0.0400, ν = 8 (64 %), blur 0.0300 (36 %); below 0.5 % each: print scale < 0.0001"
    )
    assert skew.u == "0.0520"
    assert skew.terms == (
        "lens 0.0600 (120 %), tilt -0.0100 (-20 %); below 0.5 % each: edge scatter 0.0010"
    )


def test_a_limit_without_a_number_has_its_row(tmp_path: Path) -> None:
    seam = sample.measurement("photo_1.jpg", 0.9, 70.1)
    bare = seam.model_copy(
        update={"splice_width": None, "decisions": {"splice_width": Decision.UNDECIDED}}
    )
    rows = {row.label: row for row in one(bare, tmp_path).findings}
    assert rows["Splice width"].value == "not measured"
    assert rows["Splice width"].decision is not None
    assert rows["Splice width"].source == "job card"


@pytest.mark.parametrize(("probability", "said"), [
    (1.0, "over 99.9 %"), (0.9991, "over 99.9 %"), (0.9876, "98.8 %"), (0.5, "50.0 %"),
    (0.0011, "0.1 %"), (0.0009, "under 0.1 %"), (0.0, "under 0.1 %"),
])  # fmt: skip
def test_no_probability_is_a_certainty(tmp_path: Path, probability: float, said: str) -> None:
    seam = sample.measurement("photo_1.jpg", 0.9, 70.1)
    seam = seam.model_copy(update={"conformity": {"finger_gap": probability}})
    assert one(seam, tmp_path).findings[0].conformity == said
    assert one(seam, tmp_path).findings[2].conformity == ""
