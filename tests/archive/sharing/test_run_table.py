"""Jobs as rows: one for each press run, nothing that is doubtful without its mark."""

from __future__ import annotations

from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.sharing import run_table
from recorder.archive.sharing.table import Cell, Units
from recorder.model.fields import FIELDS
from recorder.model.job import Job, PhotoNote
from recorder.model.measurement import Decision, Measurement, SeamMeasurement
from recorder.model.reading import Role, Standing
from tests.archive.sample_jobs import BAKERY, NOW, add_job, from_card, reading


@pytest.fixture
def job(home: Home, source: Path) -> Job:
    return add_job(home, source)


def rows(job: Job, units: Units | None = None) -> list[dict[str, Cell]]:
    names = run_table.headings(units or {})
    assert len(names) == len(set(names))
    return [dict(zip(names, row, strict=True)) for row in run_table.rows(job, units or {})]


def seam(file: str, gap_mm: float, **more: object) -> SeamMeasurement:
    gap = Measurement(value=gap_mm, unit="mm", U=0.06, k=3.0)
    return SeamMeasurement.model_validate(
        {"file": file, "status": "measured", "gap_max": gap, "decision": Decision.WITHIN, **more}
    )


def test_every_splice_has_a_row_with_the_values_of_the_job(job: Job) -> None:
    first, second = rows(job)
    assert (first["splice"], first["run"], second["splice"], second["run"]) == (1, 1, 2, 1)
    for row in (first, second):
        assert (row["job"], row["created_at"], row["complete"]) == (job.id, job.created_at, True)
        assert (row["customer"], row["belt_width_mm"]) == ("Larkfield Bakery", 70.0)
    assert (first["outcome"], second["outcome"]) == ("rejected", "accepted")
    assert (first["finger_gap_mm"], second["finger_gap_mm"]) == (0.9, 0.35)
    assert first["pressure_bar"] is None
    assert second["pressure_bar"] == pytest.approx(2.2063)
    assert second["bubbles"] is False
    assert second["top_temperature_degC"] == 172.0


def test_every_field_of_the_catalogue_has_its_column() -> None:
    names = run_table.headings({})
    assert all(any(name in (n, f"{n}_{f.unit}") for name in names) for n, f in FIELDS.items())


def test_what_nobody_confirmed_is_named(job: Job) -> None:
    first, second = rows(job)
    assert (first["to_confirm"], second["to_confirm"]) == ("", "bottom_temperature")
    doubtful = (
        reading("customer", "Larkfeld", standing=Standing.DOUBTFUL),
        reading("finger_gap", 0.4, splice=2, standing=Standing.DOUBTFUL),
        reading("pressure", 9.0, splice=2, role=Role.ASKED, standing=Standing.DOUBTFUL),
    )
    first, second = rows(job.model_copy(update={"readings": BAKERY + doubtful}))
    assert first["to_confirm"] == "customer"
    assert second["to_confirm"] == "customer bottom_temperature finger_gap"


def test_units_are_those_that_were_asked_for(job: Job) -> None:
    units = {"pressure": "psi", "temperature": "degF", "length": "inch"}
    _, row = rows(job, units)
    assert row["pressure_psi"] == pytest.approx(32.0, abs=1e-3)
    assert row["top_temperature_degF"] == pytest.approx(341.6)
    assert row["belt_width_inch"] == pytest.approx(70 / 25.4)
    assert row["finger_gap_measured_inch"] == pytest.approx(0.15 / 25.4)
    assert "skew_U_deg" in row


def test_a_bound_is_said_to_be_one(job: Job) -> None:
    first, second = rows(job)
    assert first["finger_gap_measured_mm"] is None
    assert first["finger_gap_is_bound"] is None
    assert second["finger_gap_measured_mm"] == 0.15
    assert (second["finger_gap_U_mm"], second["finger_gap_is_bound"]) == (None, True)
    assert (second["splice_width_measured_mm"], second["splice_width_U_mm"]) == (70.2, 0.1)
    assert second["splice_width_is_bound"] is False


def test_of_several_photos_of_a_run_the_largest_counts_with_the_worst_verdict(job: Job) -> None:
    names = ("narration.flac", "a.jpg", "b.jpg", "before.jpg", "second.jpg")
    media = [job.media[1].model_copy(update={"name": name}) for name in names[1:]]
    notes = (
        PhotoNote(file="a.jpg", stage="after"),
        PhotoNote(file="b.jpg", stage="after"),
        PhotoNote(file="before.jpg", stage="before"),
        PhotoNote(file="second.jpg", run=2),
    )
    seams = (
        seam("a.jpg", 0.3),
        seam("b.jpg", 0.5, decision=Decision.OUTSIDE, decisions={"finger_gap": Decision.OUTSIDE}),
        seam("before.jpg", 0.9),
        seam("second.jpg", 0.2),
    )
    told = {"media": tuple(media), "photos": notes, "measurements": seams, "readings": ()}
    first, second = rows(job.model_copy(update=told))
    assert (first["run"], first["finger_gap_measured_mm"], first["decision"]) == (1, 0.5, "outside")
    assert first["finger_gap_U_mm"] == pytest.approx(0.04)  # of k = 3, told with k = 2
    assert (second["run"], second["finger_gap_measured_mm"]) == (2, 0.2)


def test_the_job_card_holds_for_every_run(job: Job) -> None:
    told = (
        from_card("pressure", 2.0),
        reading("dwell_time", 90.0, run=1),
        reading("dwell_time", 95.0, run=2),
    )
    first, second = rows(job.model_copy(update={"readings": told, "photos": ()}))
    assert (first["dwell_time_s"], second["dwell_time_s"]) == (90.0, 95.0)
    assert first["pressure_bar"] == second["pressure_bar"] == 2.0


def test_a_job_of_which_nothing_is_known_has_one_row() -> None:
    (row,) = rows(Job(id="20261125-204530-3f9a", created_at=NOW, version="0.1.0"))
    assert (row["job"], row["splice"], row["run"]) == ("20261125-204530-3f9a", 1, 1)
