"""What one happening leads to, where a whole dialogue would not show it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from recorder.errors import BadValue
from recorder.live import shown
from recorder.live import turn as live
from recorder.live.talk import Question, Style, Turn
from recorder.model.reading import Standing, Typed
from recorder.notes.requests.request import Ask, Request, Timer
from recorder.notes.typed import typed_reading
from tests.live.session import BEGAN, FILE, Session, new_job
from tests.notes.telling import utterance


def late(session: Session, text: str, at_s: float) -> Turn:
    """Words that were said at ``at_s`` and are understood now."""
    said = utterance(text, "=", 0.95, at_s)
    return live.hear(
        session.talk, session.job, session.conversation, FILE, said, "bundled", session.now
    )


def test_what_was_said_before_the_question_is_no_answer_to_it() -> None:
    session = Session(at_s=100.0)
    session.says("Top one seventy two. ", "Top one seventy eight.")
    session.says("The customer is Larkfield Bakery.")
    assert session.talk.question is not None
    assert session.talk.question.style is Style.RIGHT
    early = late(session, "yes", session.at_s - 20)
    assert early.readings == ()
    assert early.talk.question == session.talk.question
    (confirmed,) = late(session, "yes", session.at_s + 1).readings
    assert confirmed.standing is Standing.CONFIRMED


def test_a_yes_from_before_ends_no_job() -> None:
    session = Session(at_s=100.0)
    session.asks(Request(ask=Ask.FINISH, said="done here", sure=False))
    early = late(session, "yes", 60.0)
    assert not early.actions
    assert early.talk.unsure_of is not None
    assert late(session, "yes", 101.0).talk.finishing


def test_a_question_that_is_repeated_is_answered_by_words_that_began_just_before() -> None:
    session = Session(at_s=100.0)
    session.says("The customer is Larkfield Bakery.")
    session.waits(30)
    assert session.talk.question is not None
    assert session.talk.question.times == 2
    (confirmed,) = late(session, "yes", session.at_s - 12).readings
    assert confirmed.standing is Standing.CONFIRMED


def test_a_timer_runs_from_when_it_was_asked_for() -> None:
    session = Session(at_s=100.0)
    turn = late(session, "Start a four minute dwell timer.", 70.0)
    (running,) = turn.talk.timers
    assert running.timer is Timer.DWELL
    assert running.started_at == BEGAN + timedelta(seconds=73)
    ahead = late(session, "Start a four minute dwell timer.", 500.0)
    assert ahead.talk.timers[0].started_at == session.now


def test_a_touch_on_a_value_that_was_replaced_meanwhile_confirms_nothing() -> None:
    session = Session()
    session.says("Pressure two bar.")
    session.says("Pressure is now two point four bar.")
    turn = live.confirm(session.talk, session.job, 0, session.now)
    assert turn.readings == ()
    assert not turn.understood
    (yes,) = live.confirm(session.talk, session.job, 1, session.now).readings
    assert (yes.value, yes.standing) == (2.4, Standing.CONFIRMED)
    with pytest.raises(IndexError):
        live.confirm(session.talk, session.job, 7, session.now)


def test_a_touch_that_gives_no_value_says_what_is_wrong_with_it() -> None:
    session = Session()
    session.says("Pressure two bar.")
    with pytest.raises(BadValue):
        live.replace(session.talk, session.job, 0, "lots", session.now)
    with pytest.raises(BadValue):
        live.enter(session.talk, session.job, "belt_width", "650", session.now)


def test_an_entered_value_goes_where_it_was_asked_for() -> None:
    session = Session()
    session.says("Pressure two bar.")
    question = Question(field="outcome", text="?", first_at=BEGAN, asked_at=BEGAN, splice=1, run=1)
    talk = session.talk.model_copy(update={"splice": 2, "question": question})
    (reading,) = live.enter(talk, session.job, "outcome", "accepted", session.now).readings
    assert reading.splice == 1
    (reading,) = live.enter(talk, session.job, "bubbles", "no", session.now).readings
    assert reading.splice == 2


def test_a_bare_yes_after_something_else_was_said_asks_the_question_again() -> None:
    session = Session()
    session.says("The customer is Larkfield Bakery.")
    assert session.says("Pressure two bar.") == "Pressure two bar."
    assert session.says("yes") == "Customer Larkfield Bakery. Correct?"
    assert session.says("yes") == "Okay."


def test_a_note_has_its_place_in_the_sound() -> None:
    session = Session(at_s=50.0)
    session.says("Note the burn mark on the left edge.")
    (note,) = session.job.notes
    assert (note.file, note.start_s) == (FILE, 50.0)
    assert "burn mark" in note.text


def test_undo_restores_what_the_job_card_says_for_this_splice_alone() -> None:
    card = typed_reading("pressure", "2 bar", Typed(file="job.toml"))
    session = Session(job=new_job(card))
    session.says("No bubbles.")
    session.take(live.enter(session.talk, session.job, "pressure", "2.5 bar", session.now))
    session.says("Next splice.")
    session.take(live.enter(session.talk, session.job, "pressure", "3 bar", session.now))
    session.says("undo")
    session.says("undo")
    session.says("undo")
    held = [session.in_force(splice)["pressure"].value for splice in (1, 2)]
    assert held == [2.0, 2.0]
    assert session.in_force(1)["pressure"].standing is Standing.CONFIRMED


def test_what_other_hands_changed_since_stays() -> None:
    session = Session()
    session.says("Pressure two bar.")
    other = typed_reading("pressure", "3 bar", Typed())
    session.job = session.job.model_copy(update={"readings": (*session.job.readings, other)})
    session.says("undo")
    assert session.in_force()["pressure"] == other


def test_nothing_is_asked_of_a_microphone_that_is_off() -> None:
    """A greeting that nobody hears is kept for later, and so is a question; a timer is told."""
    session = Session(at_s=100.0)
    assert live.tick(session.talk, session.job, session.now, asks=False) is None
    greeting = live.tick(session.talk, session.job, session.now)
    assert greeting is not None
    assert "Isolate" in greeting.say
    session.take(greeting)
    session.asks(Request(ask=Ask.TIMER_START, said="", timer=Timer.DWELL, seconds=60.0))
    session.at_s += 30
    assert live.tick(session.talk, session.job, session.now, asks=False) is None
    session.at_s += 31
    due = live.tick(session.talk, session.job, session.now, asks=False)
    assert due is not None
    assert "is over" in due.say


@pytest.mark.parametrize(("first", "second"), [("Yes.", "Is."), ("", "Yes.")])
def test_a_short_answer_that_was_hardly_heard_has_the_question_asked_again(
    first: str, second: str
) -> None:
    """Silence would leave a person in the belief that the yes was taken."""
    session = Session(at_s=100.0)
    asked = session.says("Top one seventy two. ", "Top one seventy eight.")
    assert session.says(first, second) == asked
    assert session.talk.question is not None
    assert not session.turns[-1].notes


def test_a_question_for_a_value_is_not_answered_by_a_touch_on_yes() -> None:
    session = Session()
    session.says("The conveyor is isolated.")
    session.waits(10)
    asked = shown.asked(session.talk, session.job)
    assert asked is not None
    assert (asked.text, asked.choices, asked.by_yes) == ("Job number?", (), False)
