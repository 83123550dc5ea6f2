"""A technician who says anything at all: what holds of every dialogue."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.live import questions
from recorder.live import turn as live
from recorder.live.needs import NEEDS
from recorder.live.talk import Key
from recorder.model.fields import FIELDS
from recorder.model.job import in_force
from recorder.model.reading import Reading, Standing
from recorder.model.splices import numbers, runs
from recorder.notes.requests.request import Ask, Request, Timer
from tests.live.session import Session
from tests.live.shelves import shelf

TOLD = (
    ("The belt is polyurethane.", "="),
    ("The press is P2.", "="),
    ("Pressure two bar.", "="),
    ("Pressure two bar.", "Pressure three bar."),
    ("Pressure is now 2.4 bar.", "="),
    ("Top one seventy two, bottom one seventy.", "Top one seventy eight, bottom one seventy."),
    ("Top 172 degrees.", "="),
    ("Dwell four minutes.", "="),
    ("Dwell four minutes, no, five minutes.", "="),
    ("Job number Q 2381.", "="),
    ("The conveyor is isolated.", "="),
    ("No bubbles.", "="),
    ("Bubbles, no, yes.", "="),
    ("The splice is accepted.", "="),
    ("The belt is 650 millimetres wide.", "The belt is 615 millimetres wide."),
    ("Heat is on.", "="),
    ("Dwell starts now.", "="),
    ("Opening the press.", "="),
    ("Forget the pressure.", "="),
    ("Second splice now.", "="),
    ("We had some rain on the way.", "="),
)
ANSWERS = tuple(
    (each, "=")
    for each in (
        "yes", "no", "later", "not measured", "the second one", "neither", "four", "one seventy",
        "two point two bar", "um", "eighty millimetres", "rejected",
    )
)  # fmt: skip
ASKED = (
    *(Request(ask=ask, said="") for ask in Ask if ask is not Ask.FINISH),
    *(Request(ask=ask, said="", sure=False) for ask in (Ask.UNDO, Ask.NEXT_SPLICE, Ask.FINISH)),
    Request(ask=Ask.TIMER_START, said="", timer=Timer.DWELL, seconds=30.0),
    Request(ask=Ask.CORRECT, said="", field="top_temperature"),
    Request(ask=Ask.READ_BACK, said="", field="pressure"),
    Request(ask=Ask.KEEP_RECIPE, said="", text="Oven 71"),
)
SAID = st.sampled_from((*TOLD, *ANSWERS))
STEPS = st.lists(
    st.one_of(
        SAID,
        SAID,
        st.sampled_from(ASKED),
        st.sampled_from(("+5", "+30", "yes", "typed", "restart")),
    ),
    max_size=14,
)
LIGHT = settings(max_examples=25, deadline=None, derandomize=True)


def step(session: Session, what: object) -> Session:
    if isinstance(what, Request):
        session.asks(what)
    elif isinstance(what, tuple):
        session.says(*what)
    elif what == "restart":
        return session.restarted()
    elif what == "typed":
        session.take(live.enter(session.talk, session.job, "pressure", "2.5 bar", session.now))
    elif what == "yes":
        session.take(live.confirm(session.talk, session.job, None, session.now))
    else:
        session.waits(float(str(what)))
    return session


def after(steps: list[object], session: Session | None = None) -> Session:
    session = session or Session(shelf=shelf("kept"))
    for what in steps:
        session = step(session, what)
        check(session)
    return session


def check(session: Session) -> None:
    talk = session.talk
    assert talk.question is None or talk.unsure_of is None
    if talk.question is not None:
        assert talk.question.times <= questions.MOST_TIMES
        again = talk.finishing or talk.question.deviation is not None
        assert talk.question.key not in talk.postponed or again
    assert len({each.timer for each in talk.timers}) == len(talk.timers)
    for one in talk.last_turns:
        assert one.end <= len(session.job.readings)


def state(session: Session) -> dict[Key, tuple[object, ...]]:
    """What holds of every field, splice and run: values in force, and doubts that wait."""
    job = session.job
    found: dict[Key, tuple[object, ...]] = {}
    for splice in {*numbers(job), 1, 2, 3}:
        for run in {*runs(job, splice), 1}:
            for name, reading in in_force(job.readings, splice, run).items():
                found[name, splice, run] = shown(reading)
    for doubt in questions.doubts(job):
        key = questions.key_of(doubt)
        found[key] = (*found.get(key, ()), shown(doubt))
    return found


def shown(reading: Reading) -> tuple[object, ...]:
    return reading.value, reading.standing, reading.candidates


@LIGHT
@given(STEPS)
def test_two_times_finish_ends_the_job_at_once_wherever_it_stands(steps: list[object]) -> None:
    session = after(steps)
    finish = Request(ask=Ask.FINISH, said="finish")
    session.asks(finish)
    session.asks(finish)
    assert session.finished
    assert session.talk.over
    doubtful = {FIELDS[each.field].name for each in questions.doubts(session.job)}
    assert ("Not confirmed" in session.talk.last_said) == bool(doubtful)
    assert session.waits(60) == []


@LIGHT
@given(STEPS)
def test_finish_and_then_only_silence_ends_the_job(steps: list[object]) -> None:
    session = after(steps)
    session.asks(Request(ask=Ask.FINISH, said="finish"))
    doubtful = {questions.key_of(each) for each in questions.doubts(session.job)}
    said = session.waits(60 * 60, step_s=7)
    assert session.finished
    asked = {turn.talk.question.key for turn in session.turns if turn.talk.question is not None}
    assert doubtful <= asked
    most = 2 * (len(FIELDS) * max(1, len(numbers(session.job))))
    assert len(said) <= most


@LIGHT
@given(STEPS)
def test_finish_and_then_later_to_everything_ends_the_job(steps: list[object]) -> None:
    session = after(steps)
    session.asks(Request(ask=Ask.FINISH, said="finish"))
    for _ in range(len(NEEDS) * 4 + len(session.job.readings)):
        if session.finished:
            break
        session.says("later")
        session.waits(8)
    assert session.finished


@LIGHT
@given(STEPS)
def test_nobody_is_asked_for_ever(steps: list[object]) -> None:
    session = after(steps)
    session.waits(3 * 3600, step_s=20)
    assert session.waits(1800, step_s=20) == []


@LIGHT
@given(STEPS, st.lists(st.sampled_from((*TOLD, *ANSWERS)), min_size=1, max_size=5))
def test_undo_restores_the_record_level_by_level(
    steps: list[object], more: list[tuple[str, str]]
) -> None:
    session = after(steps)
    if session.talk.paused:
        session.asks(Request(ask=Ask.RESUME, said="resume"))
    if session.talk.over:
        return
    states = []
    for words in more:
        before, depth = state(session), len(session.talk.last_turns)
        session.says(*words)
        if len(session.talk.last_turns) > depth:
            states.append(before)
    for before in reversed(states):
        count = len(session.job.readings)
        session.asks(Request(ask=Ask.UNDO, said="undo"))
        assert state(session) == before
        assert len(session.job.readings) >= count


@LIGHT
@given(STEPS)
def test_no_doubt_is_lost(steps: list[object]) -> None:
    """Whatever was doubtful is asked about, was asked about, or still stands as not confirmed."""
    session = after(steps)
    asked = {turn.talk.question.key for turn in session.turns if turn.talk.question is not None}
    waiting = {questions.key_of(each) for each in questions.doubts(session.job)}
    for reading in session.job.readings:
        if reading.standing is not Standing.DOUBTFUL:
            continue
        key = questions.key_of(reading)
        held = in_force(session.job.readings, reading.splice, reading.run).get(reading.field)
        settled = held is not None and held.standing is not Standing.DOUBTFUL
        assert key in asked or key in waiting or settled or held is None
