"""Timers are two values, so that they run over restarts."""

from __future__ import annotations

from datetime import timedelta

from recorder.live.shown import timers as shown
from recorder.live.talk import Talk
from recorder.live.timers import announced, ended_by, started, stopped
from recorder.model.reading import Reading, Spoken, Standing
from recorder.model.stages import Stage, StageMark
from recorder.notes.requests.request import Ask, Request, Timer
from tests.live.session import BEGAN, Session, new_job

DWELL = Request(ask=Ask.TIMER_START, said="", timer=Timer.DWELL)
COOL_DOWN = Request(ask=Ask.TIMER_START, said="", timer=Timer.COOL_DOWN, seconds=60.0)
STOP = Request(ask=Ask.TIMER_STOP, said="")


def dwell_of(seconds: float, standing: Standing) -> Reading:
    return Reading(
        field="dwell_time", value=seconds, unit="s", standing=standing,
        evidence=Spoken(file="a", said="…"),
    )  # fmt: skip


def test_the_length_comes_from_the_request_else_from_the_job_else_it_counts() -> None:
    clear = new_job(dwell_of(240.0, Standing.CLEAR))
    talk, said = started(Talk(), clear, DWELL, BEGAN)
    assert (talk.timers[0].seconds, said) == (240.0, "Dwell: four minutes, from now.")
    longer = DWELL.model_copy(update={"seconds": 300.0})
    talk, _ = started(talk, clear, longer, BEGAN)
    assert [each.seconds for each in talk.timers] == [300.0]
    doubtful = new_job(dwell_of(240.0, Standing.DOUBTFUL))
    talk, said = started(Talk(), doubtful, DWELL, BEGAN)
    assert (talk.timers[0].seconds, said) == (None, "Dwell: the clock runs.")


def test_two_run_and_each_is_announced_once_when_it_is_due() -> None:
    job = new_job(dwell_of(90.0, Standing.CLEAR))
    talk, _ = started(Talk(), job, DWELL, BEGAN)
    talk, _ = started(talk, job, COOL_DOWN, BEGAN)
    heard = []
    for second in range(200):
        talk, said = announced(talk, BEGAN + timedelta(seconds=second))
        if said:
            heard.append((second, said))
    assert heard == [
        (60, "Cool-down is over: one minute."),
        (90, "Dwell is over: one minute thirty."),
    ]


def test_stopped_by_name_else_the_one_that_is_due_else_the_newest() -> None:
    job = new_job(dwell_of(90.0, Standing.CLEAR))
    talk, _ = started(Talk(), job, COOL_DOWN, BEGAN)
    talk, _ = started(talk, job, DWELL, BEGAN)
    later = BEGAN + timedelta(seconds=61)
    _, said = stopped(talk, STOP, later)
    assert said == "Dwell stopped at one minute one."
    due, _ = announced(talk, later)
    rest, said = stopped(due, STOP, later)
    assert said == "Cool-down stopped at one minute one."
    assert [each.timer for each in rest.timers] == [Timer.DWELL]
    named = STOP.model_copy(update={"timer": Timer.COOL_DOWN})
    assert stopped(rest, named, later) == (rest, "No timer runs.")


def test_the_stage_that_follows_ends_a_timer() -> None:
    job = new_job()
    talk, _ = started(Talk(), job, DWELL, BEGAN)
    talk, _ = started(talk, job, COOL_DOWN, BEGAN)
    cooling = StageMark(stage=Stage.COOLING, file="a", at_s=1.0, said="…")
    talk = ended_by(talk, (cooling,))
    assert [each.timer for each in talk.timers] == [Timer.COOL_DOWN]
    opened = cooling.model_copy(update={"stage": Stage.OPEN})
    assert ended_by(talk, (opened,)).timers == ()


def test_a_timer_that_was_due_while_the_program_was_down_is_announced_after_the_restart() -> None:
    session = Session()
    session.asks(COOL_DOWN)
    session = session.restarted()
    session.at_s += 300
    assert "Cool-down is over: one minute." in session.waits(1)


def test_a_pause_stops_no_timer() -> None:
    session = Session()
    session.waits(1)
    session.asks(COOL_DOWN)
    session.says("stop listening")
    assert session.waits(70) == ["Cool-down is over: one minute."]


def test_a_page_shows_when_they_are_due() -> None:
    talk, _ = started(Talk(), new_job(), COOL_DOWN, BEGAN)
    talk, _ = started(talk, new_job(), DWELL, BEGAN)
    assert [(each.label, each.due_at) for each in shown(talk)] == [
        ("Cool-down", BEGAN + timedelta(seconds=60)),
        ("Dwell", None),
    ]
