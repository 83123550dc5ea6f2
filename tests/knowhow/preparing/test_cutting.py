"""What a type of splice needs beyond the joined length, and tension marks."""

from __future__ import annotations

import pytest

from recorder.knowhow.preparing import cutting, marks
from recorder.model.fields import FIELDS


def test_every_type_of_splice_is_known() -> None:
    assert tuple(cutting.REACHES) == FIELDS["splice_type"].choices


@pytest.mark.parametrize(
    ("splice", "fingers", "overlap", "mm", "missing"),
    [
        ("finger", 80.0, None, 80.0, ""),
        ("finger", None, None, None, "finger_length"),
        ("butt", None, None, 0.0, ""),
        ("double_finger", 80.0, None, None, "overlap"),
        ("double_finger", 80.0, 130.0, 130.0, ""),
        ("overlap", None, None, None, "overlap"),
        ("overlap", None, 60.0, 60.0, ""),
        (None, 80.0, None, None, "splice_type"),
        (None, None, 60.0, 60.0, ""),
    ],
)
def test_what_is_not_told_is_never_guessed(
    splice: str | None, fingers: float | None, overlap: float | None, mm: float | None, missing: str
) -> None:
    found = cutting.reach(splice, fingers, overlap)
    assert (found.mm, found.missing) == (mm, missing)
    assert bool(found.why) is (mm is not None)


def test_marks_move_apart_by_the_wanted_elongation() -> None:
    assert marks.tensioned(1000.0, 1.2) == pytest.approx(1012.0)
