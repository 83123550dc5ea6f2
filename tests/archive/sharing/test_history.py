"""Two or three histories of one job give one, the same wherever it is made, and lose nothing."""

from collections import Counter
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.archive.sharing.merge import State
from recorder.model.job import in_force, to_confirm
from recorder.model.reading import Reading, Standing, Typed
from tests.archive.sharing.devices import answered, at, fresh, heard, taken_in, told

FIELDS = ("pressure", "top_temperature", "dwell_time")
LIGHT = settings(max_examples=40, deadline=None, derandomize=True)


DEVICES = ("all", "one", "other", "third")


@st.composite
def tellings(draw: st.DrawFn, who: str, most: int = 4) -> list[tuple[float, Reading]]:
    """Readings of a device with the minute of each, by a clock that may go backwards.

    No two devices tell the very same at the very same moment.
    """
    told_readings = []
    for _ in range(draw(st.integers(0, most))):
        minute = draw(st.integers(0, 12)) + DEVICES.index(who) / 4
        field, value = draw(st.sampled_from(FIELDS)), float(draw(st.integers(1, 3)))
        known = heard(field, value, who)
        if draw(st.booleans()):
            known = answered(field, value, minute)
        told_readings.append(
            (minute, known.model_copy(update={"standing": draw(st.sampled_from(Standing))}))
        )
    return told_readings


def device(common: State, more: Sequence[tuple[float, Reading]]) -> State:
    for minute, known in more:
        common = told(common, minute, known)
    return common


def texts(state: State) -> list[str]:
    return [known.model_dump_json() for known in state.job.readings]


def asked_by_a_merge(known: Reading) -> bool:
    return known.why.startswith("two devices differ")


def of_people(state: State) -> list[Reading]:
    return [known for known in state.job.readings if not asked_by_a_merge(known)]


def is_within(part: Sequence[object], whole: Sequence[object]) -> bool:
    rest = iter(whole)
    return all(each in rest for each in part)


@LIGHT
@given(tellings("all"), tellings("one"), tellings("other"))
def test_both_devices_come_to_the_same_history_and_stay_there(
    common: list[tuple[float, Reading]], one: list[tuple[float, Reading]],
    other: list[tuple[float, Reading]],
) -> None:  # fmt: skip
    start = device(fresh(), common)
    a, b = device(start, one), device(start, other)
    ab, _ = taken_in(a, b)
    ba, _ = taken_in(b, a)
    assert texts(ab) == texts(ba)
    for here, there in ((ab, b), (ba, a), (ab, ba), (ba, ab), (a, a)):
        again, merged = taken_in(here, there)
        assert not merged.news
        assert again == here
    assert texts(taken_in(a, ba)[0]) == texts(ab)


@LIGHT
@given(tellings("all"), tellings("one"), tellings("other"))
def test_nothing_is_lost_and_each_side_keeps_its_order(
    common: list[tuple[float, Reading]], one: list[tuple[float, Reading]],
    other: list[tuple[float, Reading]],
) -> None:  # fmt: skip
    start = device(fresh(), common)
    a, b = device(start, one), device(start, other)
    merged, _ = taken_in(a, b)
    whole = of_people(merged)
    assert is_within(a.job.readings, whole)
    assert is_within(b.job.readings, whole)
    alike = Counter(a.job.readings) | Counter(b.job.readings)
    assert Counter(whole) == alike


@LIGHT
@given(*(tellings(who) for who in DEVICES))
def test_three_devices_agree_on_what_was_told_in_whatever_order_they_meet(
    common: list[tuple[float, Reading]], one: list[tuple[float, Reading]],
    other: list[tuple[float, Reading]], third: list[tuple[float, Reading]],
) -> None:  # fmt: skip
    start = device(fresh(), common)
    a, b, c = (device(start, more) for more in (one, other, third))
    first = taken_in(taken_in(a, b)[0], c)[0]
    second = taken_in(a, taken_in(b, c)[0])[0]
    last = taken_in(taken_in(c, a)[0], b)[0]
    assert of_people(first) == of_people(second) == of_people(last)
    # Questions depend on who met whom; one more exchange and all ask the same.
    left, right = first, second
    for _ in range(3):
        left, right = taken_in(left, right)[0], taken_in(right, left)[0]
    assert texts(left) == texts(right)


def test_the_two_tails_stand_in_the_order_in_which_they_were_told() -> None:
    start = told(fresh(), 0, heard("job_number", "4817"))
    a = device(start, [(10, answered("pressure", 2.2, 10)), (30, heard("bubbles", False))])
    b = device(start, [(20, answered("dwell_time", 95.0, 20)), (40, heard("outcome", "accepted"))])
    merged, what = taken_in(a, b)
    fields = [known.field for known in merged.job.readings]
    assert fields == ["job_number", "pressure", "dwell_time", "bubbles", "outcome"]
    assert [entry.reading.field for entry in what.readings] == ["dwell_time", "outcome"]
    assert what.questions == ()
    assert to_confirm(merged.job) == []


def test_a_clock_that_goes_backwards_changes_no_side_s_own_order() -> None:
    a = device(fresh(), [(50, heard("pressure", 2.2)), (5, heard("pressure", 2.3))])
    b = device(fresh(), [(20, heard("dwell_time", 95.0))])
    merged, _ = taken_in(a, b)
    assert [known.value for known in merged.job.readings] == [95.0, 2.2, 2.3]


def test_two_answers_stay_and_are_asked_about_on_both_devices_alike() -> None:
    start = told(fresh(), 0, heard("pressure", 2.1))
    a = told(start, 12, answered("pressure", 2.2, 12))
    b = told(start, 10, answered("pressure", 2.3, 10))
    (ab, what), (ba, _) = taken_in(a, b), taken_in(b, a)
    assert [known.value for known in ab.job.readings] == [2.1, 2.3, 2.2, 2.2]
    (question,) = to_confirm(ab.job)
    assert (question,) == tuple(to_confirm(ba.job)) == what.questions
    assert question.why == (
        "two devices differ: 2.3 bar at 2026-11-25T20:10:00+00:00, "
        "2.2 bar at 2026-11-25T20:12:00+00:00"
    )
    assert question.candidates == (2.3,)
    assert question.evidence == Typed(at=at(12))
    assert in_force(ab.job.readings)["pressure"].value == 2.2  # the newer confirmed one
    settled = told(ab, 60, answered("pressure", 2.3, 60))
    assert to_confirm(settled.job) == []
    for other in (ba, b, a):
        again, once_more = taken_in(settled, other)
        assert not once_more.news
    assert to_confirm(taken_in(ba, settled)[0].job) == []
    assert again == settled


def test_a_yes_to_a_question_counts_from_when_it_was_said() -> None:
    a = told(fresh(), 12, answered("pressure", 2.2, 12))
    b = told(fresh(), 10, answered("pressure", 2.3, 10))
    asked, what = taken_in(a, b)
    yes = what.questions[0].model_copy(update={"standing": Standing.CONFIRMED, "candidates": ()})
    settled = told(asked, 60, yes)  # its evidence tells of minute 12
    third = told(fresh(), 30, heard("dwell_time", 95.0))
    values = [known.value for known in taken_in(third, settled)[0].job.readings]
    assert values == [2.3, 2.2, 2.2, 95.0, 2.2]


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (answered("pressure", 2.2, 12), answered("pressure", 2.2, 10)),
        (answered("customer", "Larkfield Bakery", 12), answered("customer", "larkfield bakery", 9)),
        (answered("pressure", 2.2, 12), answered("dwell_time", 95.0, 10)),
        (answered("pressure", 2.2, 12), heard("pressure", 2.2, "two point two")),
    ],
)
def test_the_same_answer_or_another_field_is_no_question(ours: Reading, theirs: Reading) -> None:
    start = told(fresh(), 0, heard("pressure", 2.1))
    merged, what = taken_in(told(start, 12, ours), told(start, 10, theirs))
    assert what.questions == ()
    assert to_confirm(merged.job) == []
    assert len(merged.job.readings) == 3


def test_a_confirmed_value_goes_before_one_that_was_only_heard() -> None:
    a = told(fresh(), 10, answered("pressure", 2.2, 10))
    b = told(fresh(), 30, heard("pressure", 2.3))
    for merged, _ in (taken_in(a, b), taken_in(b, a)):
        assert in_force(merged.job.readings)["pressure"].value == 2.2
        (question,) = to_confirm(merged.job)
        assert (question.value, question.candidates) == (2.2, (2.3,))


def test_a_doubt_of_one_side_that_a_person_of_the_other_settled_is_not_asked_twice() -> None:
    doubt = heard("pressure", 2.8).model_copy(update={"standing": Standing.DOUBTFUL})
    a = told(fresh(), 10, doubt)
    b = told(fresh(), 30, answered("pressure", 2.3, 30))
    assert to_confirm(taken_in(a, b)[0].job) == []
    later = told(fresh(), 50, doubt)
    assert to_confirm(taken_in(later, b)[0].job) == [doubt]


def test_what_both_have_settled_since_is_not_asked_again() -> None:
    last = answered("pressure", 2.4, 50)
    a = told(told(fresh(), 10, answered("pressure", 2.2, 10)), 50, last)
    b = told(told(fresh(), 20, answered("pressure", 2.3, 20)), 50, last)
    merged, what = taken_in(a, b)
    assert what.questions == ()
    assert [known.value for known in merged.job.readings] == [2.2, 2.3, 2.4]


def test_readings_without_events_have_the_time_that_they_tell_or_that_of_the_report() -> None:
    a = told(fresh(), 30, heard("dwell_time", 95.0))
    readings = (answered("pressure", 2.2, 20), heard("bubbles", False))
    report = State(fresh().job.model_copy(update={"readings": readings}), written_at=at(40))
    merged, what = taken_in(a, report)
    fields = [known.field for known in merged.job.readings]
    assert fields == ["pressure", "dwell_time", "bubbles"]
    assert [entry.at for entry in what.readings] == [at(20), at(40)]
    # What the event of the merge says counts for a third device as the report did.
    third = told(fresh(), 35, heard("outcome", "accepted"))
    fields = [known.field for known in taken_in(third, merged)[0].job.readings]
    assert fields == ["pressure", "dwell_time", "outcome", "bubbles"]


def test_readings_in_opposite_order_keep_ours() -> None:
    x, y = heard("pressure", 2.2), heard("dwell_time", 95.0)
    a = device(fresh(), [(10, x), (20, y)])
    b = device(fresh(), [(10, y), (20, x), (30, heard("bubbles", True))])
    merged, _ = taken_in(a, b)
    assert merged.job.readings[:2] == (x, y)
    assert len(merged.job.readings) == 3


@LIGHT
@given(tellings("one"), tellings("other"))
def test_what_a_merge_asks_is_asked_of_a_person(
    one: list[tuple[float, Reading]], other: list[tuple[float, Reading]]
) -> None:
    merged, what = taken_in(device(fresh(), one), device(fresh(), other))
    waiting = {doubt.field for doubt in to_confirm(merged.job)}
    assert {question.field for question in what.questions} <= waiting
    assert len(what.questions) == len({question.field for question in what.questions})
