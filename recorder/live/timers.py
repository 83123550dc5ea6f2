"""Timers for dwell and cool-down: started and stopped by voice or touch, announced when due.

A timer is two values, when it began and how long it is to run, so that a restart costs nothing.
"""

from __future__ import annotations

from datetime import datetime

from recorder.live.saying.values import duration
from recorder.live.saying.words import capital, of, sentence
from recorder.live.talk import Running, Talk
from recorder.model.job import Job, in_force
from recorder.model.reading import Standing
from recorder.model.stages import Stage, StageMark
from recorder.notes.requests.request import Request, Timer

# The stage whose beginning ends what a timer was started for.
_ENDS = {Stage.COOLING: (Timer.DWELL,), Stage.OPEN: (Timer.DWELL, Timer.COOL_DOWN)}


def started(talk: Talk, job: Job, request: Request, now: datetime) -> tuple[Talk, str]:
    """Start a timer, anew where it runs: for the length that was asked for, else that of the job's
    setting, else it counts.
    """
    timer = request.timer or Timer.OTHER
    seconds = request.seconds
    if seconds is None and timer is Timer.DWELL:
        held = in_force(job.readings, talk.splice, talk.run).get("dwell_time")
        # A doubtful length would ring at a wrong moment.
        if held and held.standing is not Standing.DOUBTFUL:
            seconds = float(held.value)
    running = Running(timer=timer, started_at=now, seconds=seconds)
    others = tuple(each for each in talk.timers if each.timer is not timer)
    name = capital(of("timers", timer.value))
    if seconds is None:
        said = sentence("timer_counting", name=name)
    else:
        said = sentence("timer_started", name=name, duration=duration(seconds))
    return talk.model_copy(update={"timers": (*others, running)}), said


def stopped(talk: Talk, request: Request, now: datetime) -> tuple[Talk, str]:
    """Stop the timer that is meant: the named one, else one that is due, else the newest."""
    named = [each for each in talk.timers if each.timer is request.timer]
    due = [each for each in talk.timers if each.announced]
    chosen = named
    if not named and request.timer in (None, Timer.OTHER):
        chosen = due or list(talk.timers[-1:])
    if not chosen:
        return talk, sentence("timer_none")
    running = chosen[-1]
    rest = tuple(each for each in talk.timers if each is not running)
    said = sentence(
        "timer_stopped",
        name=capital(of("timers", running.timer.value)),
        duration=duration(elapsed_s(running, now)),
    )
    return talk.model_copy(update={"timers": rest}), said


def ended_by(talk: Talk, marks: tuple[StageMark, ...]) -> Talk:
    """Timers end with the stage that they were for; nobody has to stop them then."""
    over = {timer for mark in marks for timer in _ENDS.get(mark.stage, ())}
    rest = tuple(each for each in talk.timers if each.timer not in over)
    return talk.model_copy(update={"timers": rest})


def announced(talk: Talk, now: datetime) -> tuple[Talk, str]:
    """Say which timer is due now, the one that is longest; each once. '' for none."""
    due = [each for each in talk.timers if is_due(each, now) and not each.announced]
    if not due:
        return talk, ""
    first = min(due, key=lambda each: each.started_at)
    timers = tuple(
        each.model_copy(update={"announced": True}) if each is first else each
        for each in talk.timers
    )
    said = sentence(
        "timer_due",
        name=capital(of("timers", first.timer.value)),
        duration=duration(first.seconds or 0.0),
    )
    return talk.model_copy(update={"timers": timers}), said


def elapsed_s(running: Running, now: datetime) -> float:
    return max(0.0, (now - running.started_at).total_seconds())


def is_due(running: Running, now: datetime) -> bool:
    return running.seconds is not None and elapsed_s(running, now) >= running.seconds
