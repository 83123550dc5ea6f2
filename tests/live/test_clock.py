"""The session's clock: stage marks over several stretches of sound, and what it proposes."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from recorder.live import clock
from recorder.live import turn as live
from recorder.live.needs import moment_of
from recorder.live.talk import Moment, Talk
from recorder.model.job import Job
from recorder.model.reading import Reading, Spoken, Standing, Typed
from recorder.model.recording import BY_CLOCK, Recording
from recorder.model.stages import Stage, StageMark
from tests.live.session import BEGAN, Session, new_job

AFTER_A_GAP = BEGAN + timedelta(seconds=400)


def stretch(number: int, began_at: datetime) -> Recording:
    return Recording(
        file=f"recording_{number}.flac", began_at=began_at, samples=48_000 * 300, rate_hz=48_000
    )


def mark(stage: Stage, number: int, at_s: float, said: str = "…", splice: int = 1) -> StageMark:
    return StageMark(
        stage=stage, file=f"recording_{number}.flac", at_s=at_s, said=said, splice=splice
    )


def pressed(*marks: StageMark, readings: tuple[Reading, ...] = ()) -> Job:
    """Two stretches, the second 400 s after the beginning of the first."""
    recordings = (stretch(1, BEGAN), stretch(2, AFTER_A_GAP))
    update = {"recordings": recordings, "stages": marks}
    return new_job(*readings).model_copy(update=update)


WHOLE = (
    mark(Stage.HEATING, 1, 10.0, "heat is on"),
    mark(Stage.DWELL, 1, 200.0, "dwell starts"),
    mark(Stage.COOLING, 2, 45.0, "dwell is over"),
    mark(Stage.OPEN, 2, 290.0, "opening the press"),
)


def told(field: str, value: float) -> Reading:
    evidence = Spoken(file="recording_1.flac", said="so many", start_s=1.0, end_s=2.0)
    return Reading(field=field, value=value, unit="s", standing=Standing.CLEAR, evidence=evidence)


def test_times_run_over_a_gap_between_two_stretches() -> None:
    found = {each.field: each for each in clock.proposals(pressed(*WHOLE), 1, 1)}
    assert {name: each.value for name, each in found.items()} == {
        "dwell_time": 245.0,
        "cycle_time": 680.0,
    }
    cycle = found["cycle_time"]
    assert cycle.standing is Standing.DOUBTFUL
    assert cycle.why.startswith(BY_CLOCK)
    assert cycle.evidence == Spoken(
        file="recording_2.flac", said="heat is on … opening the press", start_s=290.0, end_s=290.0
    )


def test_nothing_is_proposed_of_a_run_that_goes_on_or_of_what_was_told() -> None:
    assert clock.proposals(pressed(*WHOLE[:3]), 1, 1) == ()
    assert clock.proposals(pressed(*WHOLE), 2, 1) == ()
    job = pressed(*WHOLE, readings=(told("dwell_time", 240.0), told("cycle_time", 680.0)))
    assert clock.proposals(job, 1, 1) == ()


def test_the_preheat_counts_into_the_cycle() -> None:
    job = pressed(mark(Stage.PREHEAT, 1, 5.0), *WHOLE[1:])
    found = {each.field: each.value for each in clock.proposals(job, 1, 1)}
    assert found == {"dwell_time": 245.0, "cycle_time": 685.0}


@pytest.mark.parametrize(
    ("told_s", "differs"), [(240.0, False), (226.0, False), (220.0, True), (300.0, True)]
)
def test_a_told_time_far_from_the_clock_is_a_difference(told_s: float, differs: bool) -> None:
    job = pressed(*WHOLE, readings=(told("dwell_time", told_s),))
    found = clock.differences(job, 1, 1)
    assert [each.clock_s for each in found] == ([245.0] if differs else [])


def test_a_difference_is_said_once() -> None:
    job = pressed(*WHOLE, readings=(told("dwell_time", 120.0),))
    session = Session(job=job, at_s=1000.0)
    said = session.waits(1200)
    different = "Dwell: you said two minutes, the clock says four minutes five."
    assert said.count(different) == 1


def test_a_proposal_that_nobody_confirms_is_not_in_the_record() -> None:
    session = Session(job=pressed(*WHOLE), at_s=1000.0)
    said = session.waits(10)
    assert "Dwell four minutes five. Correct?" in said
    assert session.job.readings == ()
    session.says("no")
    assert session.talk.question is not None
    assert session.talk.question.field == "dwell_time"
    assert session.job.readings == ()


def test_a_confirmed_proposal_keeps_the_words_of_its_marks() -> None:
    session = Session(job=pressed(*WHOLE), at_s=1000.0)
    session.waits(10)
    session.says("yes")
    (kept,) = session.job.readings
    assert kept.standing is Standing.CONFIRMED
    assert isinstance(kept.evidence, Spoken)
    assert kept.evidence.said == "dwell starts … dwell is over"
    assert kept.why.startswith(BY_CLOCK)
    assert "confirmed: “yes”" in kept.why


def test_a_touch_confirms_a_proposal_too() -> None:
    session = Session(job=pressed(*WHOLE), at_s=1000.0)
    session.waits(10)
    session.take(live.confirm(session.talk, session.job, None, session.now))
    (kept,) = session.job.readings
    assert kept.standing is Standing.CONFIRMED
    assert kept.why.startswith(BY_CLOCK)


def test_nothing_missing_is_asked_for_right_after_a_stage_began() -> None:
    job = pressed(mark(Stage.HEATING, 1, 100.0))
    session = Session(job=job, at_s=100.0)
    session.waits(1)
    assert session.waits(13) == []
    assert session.waits(10) != []


def test_time_on_site_from_the_arrival_or_the_beginning_of_the_session() -> None:
    later = BEGAN + timedelta(minutes=100, seconds=20)
    found = clock.on_site(new_job(), later)
    assert found is not None
    assert found.value == 6000.0
    arrived = Reading(
        field="arrived_at",
        value=(BEGAN - timedelta(minutes=20)).isoformat(),
        standing=Standing.CLEAR,
        evidence=Typed(),
    )
    found = clock.on_site(new_job(arrived), later)
    assert found is not None
    assert found.value == 7200.0
    left = arrived.model_copy(update={"field": "left_at"})
    assert clock.on_site(new_job(arrived, left), later) is None
    assert clock.on_site(new_job(), BEGAN + timedelta(minutes=2)) is None


@pytest.mark.parametrize(
    ("marks", "moment"),
    [
        ((), Moment.BEFORE),
        (WHOLE[:1], Moment.PRESSING),
        (WHOLE, Moment.AFTER),
        ((mark(Stage.HEATING, 1, 1.0, splice=2),), Moment.BEFORE),
    ],
)
def test_the_moment_follows_the_stages_of_this_splice(
    marks: tuple[StageMark, ...], moment: Moment
) -> None:
    assert moment_of(Talk(), pressed(*marks)) is moment


def test_a_run_that_cannot_have_been_so_short_is_not_proposed() -> None:
    job = pressed(mark(Stage.HEATING, 1, 10.0), mark(Stage.OPEN, 1, 32.0))
    assert clock.proposals(job, 1, 1) == ()
