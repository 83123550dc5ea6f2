"""Which press runs a job has, and what of it counts."""

from datetime import datetime
from typing import Any

import pytest

from recorder.archive.index.runs import runs_in
from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import Measurement, SeamMeasurement
from recorder.model.past import PastRun
from recorder.model.reading import Reading, Role, Standing
from tests.archive.sample_jobs import BAKERY, NOW, from_card, reading


def job(*readings: Reading, complete: bool = True, **rest: Any) -> Job:
    made = Job(id="a", created_at=NOW, version="0.1.0", complete=complete, readings=readings)
    return made.model_copy(update=rest)


def photographed(*shown: tuple[PhotoNote, SeamMeasurement]) -> dict[str, Any]:
    """Photos of a job, with what was measured in them."""
    return {
        "media": tuple(
            MediaFile(
                name=note.file, path=note.file, kind=MediaKind.PHOTO, sha256="0", size_bytes=1
            )
            for note, _ in shown
        ),
        "photos": tuple(note for note, _ in shown),
        "measurements": tuple(seam for _, seam in shown),
    }


def photo(
    name: str, gap: float, run: int = 1, stage: str = "after", below: bool = False, **sizes: float
) -> tuple[PhotoNote, SeamMeasurement]:
    found = {
        size: Measurement(value=value, unit="mm", U=0.09, k=3) for size, value in sizes.items()
    }
    return PhotoNote(file=name, stage=stage, run=run), SeamMeasurement(
        file=name,
        status="measured",
        gap_max=Measurement(value=gap, unit="mm", U=0.05, below=below),
        **found,
    )


def only(made: Job) -> PastRun:
    (run,) = runs_in(made)
    return run


def test_each_run_of_each_splice_has_what_was_told_of_it_and_what_the_card_says() -> None:
    first, second = runs_in(job(*BAKERY))
    assert (first.splice, first.outcome, first.pressure) == (1, "rejected", None)
    assert (second.splice, second.outcome, second.pressure) == (2, "accepted", 2.2063)
    assert second.top_temperature == 172.0  # confirmed; 172 that the card asks for is no setting
    assert second.bottom_temperature is None  # doubtful
    for run in (first, second):
        assert (run.job, run.at, run.job_number) == ("a", NOW, "4817")
        assert (run.customer, run.template) == ("Larkfield Bakery", "T30-10")
        assert run.belt.told() == {"belt_material": "TPU CV-120A", "belt_width": 70.0}
        assert run.finger_gap is None  # it was told, and no photo measured it


def test_a_job_that_is_not_complete_has_none() -> None:
    assert runs_in(job(*BAKERY, complete=False)) == []


@pytest.mark.parametrize("standing", [Standing.DOUBTFUL, Standing.WITHDRAWN])
def test_what_is_doubtful_or_withdrawn_counts_nowhere(standing: Standing) -> None:
    told = (reading("press", "P2"), reading("pressure", 2.0), reading("outcome", "accepted"))
    names = ("press", "pressure", "outcome", "belt_width")
    taken_back = [
        reading(name, {"pressure": 3.0, "belt_width": 80.0}.get(name, "rework"), standing=standing)
        for name in names
    ]
    run = only(job(*told, reading("dwell_time", 60.0), *taken_back))
    assert (run.press, run.pressure, run.outcome, run.belt_width) == (None, None, None, None)
    assert run.dwell_time == 60.0


def test_a_run_of_which_all_was_withdrawn_was_none() -> None:
    told = (reading("pressure", 2.0), reading("outcome", "accepted"))
    misheard = reading("pressure", 2.5, run=2)
    back = misheard.model_copy(update={"standing": Standing.WITHDRAWN})
    assert only(job(*told, misheard, back)).outcome == "accepted"


def test_what_was_pressed_again_was_rework() -> None:
    told = (reading("pressure", 2.0), reading("pressure", 2.4, run=2))
    first, last = runs_in(job(*told, reading("outcome", "accepted")))
    assert [(first.run, first.outcome), (last.run, last.outcome)] == [
        (1, "rework"),
        (2, "accepted"),
    ]
    assert (first.pressure, last.pressure) == (2.0, 2.4)


def test_an_outcome_told_before_the_last_run_began_is_not_of_it() -> None:
    first, again = reading("pressure", 2.0), reading("pressure", 2.4, run=2)
    bad, good = reading("outcome", "rejected"), reading("outcome", "accepted")
    assert [run.outcome for run in runs_in(job(first, bad, again))] == ["rework", None]
    assert runs_in(job(first, bad, again, good))[1].outcome == "accepted"
    corrected = reading("pressure", 2.5, run=2)
    assert runs_in(job(first, again, good, corrected))[1].outcome == "accepted"
    asked = reading("pressure", 2.5, run=2, role=Role.ASKED)
    assert runs_in(job(first, asked, bad, again))[1].outcome is None
    card = from_card("outcome", "accepted")
    assert runs_in(job(card, first, again))[1].outcome == "accepted"


def test_a_card_alone_tells_of_one_run_when_it_tells_settings() -> None:
    belt = from_card("belt_width", 70.0)
    assert runs_in(job(belt, from_card("top_temperature", 170.0, Role.ASKED))) == []
    settings = (from_card("top_temperature", 170.0), from_card("outcome", "accepted"))
    run = only(job(belt, *settings))
    assert (run.top_temperature, run.outcome, run.belt_width) == (170.0, "accepted", 70.0)


def test_photos_after_pressing_give_the_worst_of_their_run() -> None:
    shown = photographed(
        photo("before.jpg", 3.0, stage="before"),
        photo("bound.jpg", 0.9, below=True, edge_offset=-0.4),
        photo("a.jpg", 0.3, splice_width=70.3, edge_offset=0.1),
        photo("b.jpg", 0.2, splice_width=69.5),
        photo("second.jpg", 0.15, run=2, below=True),
    )
    width = reading("belt_width", 70.0)
    first, second = runs_in(job(width, reading("pressure", 2.0), **shown))
    assert (first.finger_gap, first.finger_gap_U, first.gap_below) == (0.3, 0.05, False)
    assert first.splice_width == 69.5
    assert first.splice_width_U == pytest.approx(0.06)  # with k = 2
    assert (first.edge_offset, first.outcome) == (0.4, "rework")
    assert (second.finger_gap, second.finger_gap_U, second.gap_below) == (0.15, None, True)
    assert (second.pressure, second.belt_width) == (None, 70.0)


def test_a_bound_of_a_width_is_no_width() -> None:
    note, seam = photo("a.jpg", 0.3, splice_width=70.0)
    assert seam.splice_width is not None
    bound = seam.splice_width.model_copy(update={"below": True})
    shown = photographed((note, seam.model_copy(update={"splice_width": bound})))
    run = only(job(**shown))
    assert (run.finger_gap, run.splice_width, run.splice_width_U) == (0.3, None, None)


def test_lengths_are_in_millimetres() -> None:
    note, seam = photo("a.jpg", 0.3)
    inch = Measurement(value=0.01, unit="inch", U=0.002)
    run = only(job(**photographed((note, seam.model_copy(update={"gap_max": inch})))))
    assert run.finger_gap == pytest.approx(0.254)
    assert run.finger_gap_U == pytest.approx(0.0508)
    assert isinstance(run.at, datetime)
