"""What a page shows of the talk."""

from __future__ import annotations

import pytest

from recorder.live import shown
from recorder.live import turn as live
from recorder.model.fields import FIELDS
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Role, Spoken, Standing, Typed
from recorder.notes.requests.request import Ask, Request
from recorder.notes.typed import typed_reading
from tests.live.session import Session, new_job


def doubtful(field: str, value: bool | float | str, *candidates: bool | float | str) -> Reading:
    return Reading(
        field=field, value=value, unit=FIELDS[field].unit, standing=Standing.DOUBTFUL,
        evidence=Spoken(file="recording_1.flac", said="…"), candidates=candidates,
    )  # fmt: skip


def test_a_card_for_each_value_in_force_in_the_order_of_the_catalogue() -> None:
    session = Session()
    session.says("Pressure two bar.")
    session.says("Job number Q 2381.")
    session.says("No bubbles.")
    cards = shown.cards(session.talk, session.job)
    assert [(each.field, each.value, each.standing, each.fresh) for each in cards] == [
        ("job_number", "Q2381", "clear", False),
        ("pressure", "2 bar", "clear", False),
        ("bubbles", "no", "clear", True),
    ]
    assert [session.job.readings[each.place].field for each in cards] == [
        each.field for each in cards
    ]
    assert cards[1].said == "Pressure two bar."
    assert {each.place_of for each in cards} == {""}


def test_several_splices_have_their_own_cards() -> None:
    session = Session()
    session.says("Pressure two bar.")
    session.says("Next splice.")
    session.says("Pressure two point four bar.")
    cards = shown.cards(session.talk, session.job)
    assert [(each.value, each.place_of) for each in cards] == [
        ("2 bar", "splice 1"),
        ("2.4 bar", "splice 2"),
    ]


def test_what_the_job_card_says_has_a_card_for_each_splice() -> None:
    card = typed_reading("pressure", "2 bar", Typed(file="job.toml"))
    asked = typed_reading("pressure", "3 bar", Typed(file="job.toml"), Role.ASKED)
    session = Session(job=new_job(card, asked))
    session.says("No bubbles.")
    session.says("Second splice now.")
    session.says("Bubbles found.")
    cards = [each for each in shown.cards(session.talk, session.job) if each.field == "pressure"]
    assert [(each.value, each.place) for each in cards] == [("2 bar", 0), ("2 bar", 0)]


def test_a_doubt_beside_a_confirmed_value_has_a_card_of_its_own() -> None:
    sure = typed_reading("pressure", "2 bar", Typed())
    session = Session(job=new_job(sure, doubtful("pressure", 3.0)))
    cards = shown.cards(session.talk, session.job)
    assert [(each.value, each.standing) for each in cards] == [
        ("2 bar", "confirmed"),
        ("3 bar", "doubtful"),
    ]


@pytest.mark.parametrize(
    "doubt",
    [
        doubtful("pressure", 2.0, 3.0),
        doubtful("top_temperature", 176.66666, 350.0),
        doubtful("dwell_time", 240.0, 300.0),
        doubtful("outcome", "accepted", "rejected"),
        doubtful("guide_profile", "v_guided", "notched_v_guided"),
        doubtful("test_run", "ok", "not_ok"),
        doubtful("customer", "Larkfield Bakery", "Larkfeld Bakery"),
        doubtful("supply_phases", 1.0, 3.0),
    ],
    ids=lambda doubt: doubt.field,
)
def test_each_choice_that_is_shown_can_be_touched_and_keeps_its_exact_value(
    doubt: Reading,
) -> None:
    for number, value in enumerate((doubt.value, *doubt.candidates)):
        session = Session(job=new_job(doubt))
        session.waits(10)
        question = shown.asked(session.talk, session.job)
        assert question is not None
        assert question.place == 0
        text = question.choices[number]
        session.take(live.replace(session.talk, session.job, 0, text, session.now))
        held = session.in_force()[doubt.field]
        assert (held.value, held.standing) == (value, Standing.CONFIRMED)
        assert session.talk.question is None or session.talk.question.field != doubt.field


def test_the_choices_of_a_missing_value_can_be_entered() -> None:
    for field in ("outcome", "splice_type", "guide_profile", "test_run", "bubbles"):
        session = Session()
        session.asks(Request(ask=Ask.CORRECT, said="", field=field))
        question = shown.asked(session.talk, session.job)
        assert question is not None
        assert question.place is None
        for text in question.choices:
            turn = live.enter(session.talk, session.job, field, text, session.now)
            assert turn.readings[0].field == field


def test_a_request_that_is_asked_about_is_shown_and_answered_by_touch() -> None:
    session = Session()
    session.says("Pressure two bar.")
    session.asks(Request(ask=Ask.UNDO, said="undo", sure=False))
    question = shown.asked(session.talk, session.job)
    assert question is not None
    assert question.text == "Take back the last?"
    assert question.by_yes
    session.take(live.deny(session.talk, session.job, session.now))
    assert "pressure" in session.in_force()
    session.asks(Request(ask=Ask.UNDO, said="undo", sure=False))
    session.take(live.confirm(session.talk, session.job, None, session.now))
    assert "pressure" not in session.in_force()


def test_a_flag_that_is_missing_is_answered_by_touch() -> None:
    for answer, value in ((live.confirm, True), (live.deny, False)):
        session = Session()
        session.asks(Request(ask=Ask.CORRECT, said="", field="bubbles"))
        if answer is live.confirm:
            session.take(live.confirm(session.talk, session.job, None, session.now))
        else:
            session.take(live.deny(session.talk, session.job, session.now))
        assert session.in_force()["bubbles"].value is value


def test_what_is_missing_stands_with_the_next_one_first() -> None:
    session = Session()
    names = shown.missing(session.talk, session.job)
    assert names[:3] == ("Isolation confirmed", "Job number", "Customer")
    assert names[-1] == "A photo"
    session.says("Heat is on.")
    assert shown.missing(session.talk, session.job)[:2] == ("Isolation confirmed", "Pressure")


def test_undo_is_there_when_something_was_given() -> None:
    session = Session()
    assert not shown.can_undo(session.talk)
    session.says("Pressure two bar.")
    assert shown.can_undo(session.talk)
    session.says("undo")
    assert not shown.can_undo(session.talk)


def test_a_customer_s_unit_is_shown_beside_the_canonical_one() -> None:
    fahrenheit = Quantity(value=350, unit="degF")
    told = Reading(
        field="top_temperature", value=fahrenheit.to("degC").value, unit="degC",
        as_said=fahrenheit, standing=Standing.CLEAR, evidence=Spoken(file="a", said="…"),
    )  # fmt: skip
    (card,) = shown.cards(Session().talk, new_job(told))
    assert card.value == "177 °C (350 °F)"
