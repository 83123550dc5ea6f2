"""Which photos speak for a splice, and that the friendliest is never picked."""

import pytest

from recorder.model.job import PhotoNote
from recorder.model.measurement import Decision, SeamMeasurement
from recorder.model.splices import Photo, verdict

WITHIN, OUTSIDE, UNDECIDED = Decision.WITHIN, Decision.OUTSIDE, Decision.UNDECIDED
REFUSED = "refused"


def photo(name: str, stage: str, said: Decision | str | None, run: int = 1) -> Photo:
    note = PhotoNote(file=name, stage=stage, run=run)
    if said == REFUSED:
        return note, SeamMeasurement(file=name, status="refused", reason="no card; lay one")
    if said is None:
        return note, None
    decided = Decision(said)
    return note, SeamMeasurement(
        file=name, status="measured", decision=decided, decisions={"finger_gap": decided}
    )


@pytest.mark.parametrize(("photos", "decision", "measured"), [
    ([], None, ""),
    ([photo("a", "after", WITHIN)], WITHIN, "a"),
    ([photo("a", "after", WITHIN), photo("b", "after", UNDECIDED)], UNDECIDED, "ab"),
    ([photo("a", "after", OUTSIDE), photo("b", "after", WITHIN)], OUTSIDE, "ab"),
    ([photo("a", "", UNDECIDED), photo("b", "after", WITHIN)], UNDECIDED, "ab"),
    ([photo("a", "before", OUTSIDE), photo("b", "after", WITHIN)], WITHIN, "b"),
    ([photo("a", "before", OUTSIDE), photo("b", "before", WITHIN)], OUTSIDE, "ab"),
    ([photo("a", "before", WITHIN), photo("b", "after", REFUSED)], None, ""),
    ([photo("a", "before", WITHIN), photo("b", "after", None)], None, ""),
    ([photo("a", "after", WITHIN), photo("b", "after", REFUSED)], WITHIN, "a"),
    ([photo("a", "after", OUTSIDE), photo("b", "after", WITHIN, run=2)], WITHIN, "b"),
    ([photo("a", "after", WITHIN), photo("b", "before", UNDECIDED, run=2)], UNDECIDED, "b"),
])  # fmt: skip
def test_the_worst_of_the_last_photos_counts(
    photos: list[Photo], decision: Decision | None, measured: str
) -> None:
    found = verdict(photos)
    assert found.decision is decision
    assert "".join(found.measured) == measured
    assert found.limits == (("finger_gap",) if decision else ())


def test_what_was_refused_and_what_came_before_are_told() -> None:
    found = verdict([photo("a", "before", WITHIN), photo("b", "after", REFUSED)])
    assert (found.refused, found.earlier) == (("b",), True)
    alone = verdict([photo("b", "after", REFUSED)])
    assert (alone.refused, alone.earlier) == (("b",), False)


def test_a_photo_without_limits_decides_nothing() -> None:
    note = PhotoNote(file="a")
    found = verdict([(note, SeamMeasurement(file="a", status="measured"))])
    assert (found.decision, found.limits, found.measured) == (None, (), ("a",))
