"""What a complete record needs, for this kind of job and at this moment."""

from __future__ import annotations

import pytest

from recorder.live.needs import NEEDS, lacking, lacking_anywhere
from recorder.live.talk import Moment, Talk
from recorder.model.fields import FIELDS, Level
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading
from tests.live.session import Session, new_job


def told(**values: str) -> list[str]:
    """Fields that are lacking at the end of a job of which this was told."""
    readings = [typed_reading(name, text, Typed()) for name, text in values.items()]
    return [key[0] for key in lacking(Talk(), new_job(*readings), Moment.FINISHING)]


def test_every_field_without_which_a_record_is_incomplete_is_needed() -> None:
    needed = {need.field for need in NEEDS}
    assert {name for name, field in FIELDS.items() if field.asked} <= needed
    assert len(needed) == len(NEEDS)


@pytest.mark.parametrize(
    ("values", "needed", "not_needed"),
    [
        ({"splice_type": "finger"}, {"finger_length", "finger_pitch", "template"}, set()),
        ({"splice_type": "double finger"}, {"finger_length"}, set()),
        ({"splice_type": "overlap"}, set(), {"finger_length", "finger_pitch", "template"}),
        ({}, {"splice_type"}, {"finger_length", "tension_mark_before", "preheat_time"}),
        ({"tension_mark_before": "1000 mm"}, {"tension_mark_after"}, set()),
        ({"tension_mark_after": "1010 mm"}, {"tension_mark_before"}, set()),
        ({"preheat_temperature": "80 degC"}, {"preheat_time"}, set()),
    ],
)
def test_the_kind_of_job_says_what_it_needs(
    values: dict[str, str], needed: set[str], not_needed: set[str]
) -> None:
    found = set(told(**values))
    assert needed <= found
    assert not not_needed & found
    assert not values.keys() & found


def test_each_has_its_moment_and_isolation_goes_before_all() -> None:
    names = {moment: [key[0] for key in lacking(Talk(), new_job(), moment)] for moment in Moment}
    assert "pressure" not in names[Moment.BEFORE]
    assert names[Moment.PRESSING][:2] == ["isolation_confirmed", "pressure"]
    assert names[Moment.AFTER][:2] == ["isolation_confirmed", "cool_down_temperature"]
    assert {each[0] for each in names.values()} == {"isolation_confirmed"}
    assert names[Moment.BEFORE][1] == names[Moment.FINISHING][1] == "job_number"


def test_what_has_no_value_is_not_asked_for_again() -> None:
    talk = Talk(declined=(("job_number", 1, 1),))
    assert ("job_number", 1, 1) not in lacking(talk, new_job(), Moment.FINISHING)


def test_at_the_end_every_splice_counts() -> None:
    session = Session()
    session.says("Pressure two bar.")
    session.says("Next splice.")
    session.says("Pressure two point four bar.")
    found = lacking_anywhere(session.talk, session.job)
    assert ("outcome", 1, 1) in found
    assert ("outcome", 2, 1) in found
    assert len(found) == len(set(found))
    assert all(key[1] == 1 for key in found if FIELDS[key[0]].level is Level.JOB)
