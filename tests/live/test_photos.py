"""What is said of a photo."""

from __future__ import annotations

import pytest

from recorder.live.photos import disagreements, said_of
from recorder.model.job import MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import Decision, Flag, FlagKind, Measurement, SeamMeasurement
from recorder.model.reading import Reading, Spoken, Standing
from tests.live.session import new_job


def gap(value: float) -> Reading:
    return Reading(
        field="finger_gap", value=value, unit="mm", standing=Standing.CLEAR,
        evidence=Spoken(file="a", said="…"),
    )  # fmt: skip


def mm(value: float, uncertainty: float, below: bool = False) -> Measurement:
    return Measurement(value=value, U=uncertainty, unit="mm", below=below)


def measured(decision: Decision | None = Decision.WITHIN, **more: object) -> SeamMeasurement:
    decisions = {"finger_gap": decision} if decision else {}
    values = {"gap_max": mm(0.312, 0.038), "decisions": decisions, **more}
    return SeamMeasurement.model_validate({"file": "a.jpg", "status": "measured", **values})


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            measured(),
            ["Finger gap zero point three one, plus minus zero point zero four. Within."],
        ),
        (
            measured(gap_max=mm(0.12, 0.0, below=True)),
            ["Finger gap below zero point one two. Within."],
        ),
        (
            measured(Decision.UNDECIDED, gap_max=None),
            ["Finger gap not measured. Undecided."],
        ),
        (
            measured(None, gap_max=None),
            ["The photo is kept, and nothing was decided."],
        ),
        (
            measured(
                skew=Measurement(value=0.8, U=0.1, unit="deg"),
                edge_offset=mm(0.4, 0.1),
                decisions={"finger_gap": Decision.WITHIN, "skew": Decision.OUTSIDE},
            ),
            [
                "Skew zero point eight degrees, plus minus zero point one degrees."
                " Outside the limit.",
                "Finger gap zero point three one, plus minus zero point zero four."
                " Within.",
                "Edge offset zero point four, plus minus zero point one.",
            ],
        ),
        (
            measured(
                flags=(
                    Flag(kind=FlagKind.OPEN_FINGER, text="…"),
                    Flag(kind=FlagKind.OPEN_FINGER, text="…"),
                )
            ),
            [
                "Finger gap zero point three one, plus minus zero point zero four."
                " Within.",
                "Look at the picture: open finger.",
            ],
        ),
    ],
    ids=["within", "below", "no number", "nothing", "worst first", "flag"],
)  # fmt: skip
def test_said(found: SeamMeasurement, said: list[str]) -> None:
    assert said_of(found, new_job(), 1) == said


def test_a_told_value_beyond_the_uncertainty_is_said_whichever_came_first() -> None:
    found = measured()
    media = MediaFile(name="a.jpg", path="a", kind=MediaKind.PHOTO, sha256="0" * 64, size_bytes=1)
    update = {
        "media": (media,), "measurements": (found,), "photos": (PhotoNote(file="a.jpg"),)
    }  # fmt: skip
    apart = "You said finger gap zero point four millimetres, the photo shows zero point three one."
    far = new_job(gap(0.4)).model_copy(update=update)
    assert said_of(found, far, 1)[1:] == [apart]
    assert disagreements(far, 1, {"finger_gap"}) == [apart]
    assert disagreements(far, 1, {"pressure"}) == []
    near = new_job(gap(0.35)).model_copy(update=update)
    assert said_of(found, near, 1)[1:] == []
    assert disagreements(near, 1, {"finger_gap"}) == []


def test_a_told_value_above_an_upper_bound_disagrees() -> None:
    found = measured(gap_max=mm(0.12, 0.0, below=True))
    assert len(said_of(found, new_job(gap(0.3)), 1)) == 2
    assert len(said_of(found, new_job(gap(0.1)), 1)) == 1
