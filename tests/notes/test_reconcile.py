from __future__ import annotations

import pytest

from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Spoken, Standing, Typed
from recorder.notes.reconcile import Heard
from recorder.notes.reconcile import reconcile as reconcile_heard
from tests.notes.telling import card, states, told

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL


def reconcile(known: tuple[Reading, ...], new: tuple[Reading, ...]) -> tuple[Reading, ...]:
    return reconcile_heard(known, tuple(Heard(reading) for reading in new))


def spoken(
    value: float,
    standing: Standing = CLEAR,
    why: str = "",
    start_s: float | None = 1.0,
    run: int = 1,
    psi: float | None = None,
) -> Reading:
    evidence = Spoken(file="a.wav", said="", start_s=start_s, end_s=start_s)
    return Reading(
        field="pressure",
        value=value,
        unit="bar",
        as_said=Quantity(value=psi, unit="psi") if psi else None,
        standing=standing,
        evidence=evidence,
        why=why,
        run=run,
    )


def test_the_same_as_typed_becomes_clear() -> None:
    (judged,) = reconcile(
        card({"pressure": "2.2 bar"}), (spoken(2.206, DOUBTFUL, "unsure", psi=32),)
    )
    assert (judged.value, judged.standing, judged.why) == (2.206, CLEAR, "")


def test_another_value_than_typed_is_asked() -> None:
    (judged,) = reconcile(card({"pressure": "2.2 bar"}), (spoken(2.5),))
    assert (judged.standing, judged.candidates) == (DOUBTFUL, (2.2,))
    assert judged.why == "the job card says 2.2 bar"


def test_another_value_than_told_before_is_asked_unless_it_corrects() -> None:
    new = (Heard(spoken(2.5)), Heard(spoken(2.6), knowingly=True))
    told, corrected = reconcile_heard((spoken(2.0),), new)
    assert (told.standing, told.candidates) == (DOUBTFUL, (2.0,))
    assert corrected.standing is CLEAR


def test_another_press_run_contradicts_nothing() -> None:
    assert reconcile((spoken(2.0),), (spoken(2.5, run=2),)) == (spoken(2.5, run=2),)


def test_a_heard_deviation_from_what_is_asked_for_is_asked_and_a_written_one_is_not() -> None:
    asked = card(asked={"pressure": "2.2 bar"})
    heard, written = spoken(2.5), spoken(2.5, start_s=None)
    assert reconcile(asked, (heard,))[0].standing is DOUBTFUL
    assert reconcile(asked, (written,)) == (written,)


def test_what_a_person_confirmed_is_left_alone() -> None:
    confirmed = spoken(2.5, Standing.CONFIRMED).model_copy(update={"evidence": Typed()})
    assert reconcile(card({"pressure": "2.2 bar"}), (confirmed,)) == (confirmed,)


def test_prose_is_no_word_of_correction() -> None:
    (judged,) = reconcile((spoken(2.0),), (spoken(2.5, why="corrects nothing"),))
    assert judged.standing is DOUBTFUL


CARD = {"finger_pitch": "10 mm", "pressure": "2.2 bar", "template": "T30-10"}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("Second splice. Finger pitch 12 millimetres.", "the job card says 10 mm"),
        ("Second splice. Template T25-8.", "the job card says T30-10"),
        ("Second splice. Pressure 2.5 bar.", "the job card says 2.2 bar"),
        ("Press run two. Pressure 2.5 bar.", "the job card says 2.2 bar"),
        ("Finger pitch 12 millimetres. No, make that 13.", "the job card says 10 mm"),
    ],
)
def test_what_the_job_card_says_holds_for_every_splice_and_run(text: str, why: str) -> None:
    reading = told(text, card(CARD)).readings[-1]
    assert reading.standing is DOUBTFUL
    assert why in reading.why


def test_the_job_cards_value_in_a_later_splice_is_clear_and_a_change_of_it_too() -> None:
    text = "Second splice. Finger pitch 10 millimetres. Pressure changed to 2.5 bar."
    pitch, pressure = told(text, card(CARD)).readings
    assert (pitch.standing, pitch.splice) == (CLEAR, 2)
    assert (pressure.standing, pressure.why) == (CLEAR, "changes 2.2 bar")


def test_a_value_near_the_typed_one_in_the_same_unit_is_another_value() -> None:
    known = card({"belt_width": "1000 mm"})
    assert states("Belt width 1003 millimetres.", known)["belt_width"] == (1003, DOUBTFUL)
    assert states("Belt width 100.3 centimetres.", known)["belt_width"] == (1003, DOUBTFUL)
    assert states("Belt width 1 metre.", known)["belt_width"] == (1000, CLEAR)


def test_a_doubtful_value_between_does_not_wear_down_what_was_typed() -> None:
    known = card({"belt_width": "1000 mm"})
    readings = told("Belt width 1003 millimetres. Belt width 1003 millimetres.", known).readings
    assert [reading.standing for reading in readings] == [DOUBTFUL, DOUBTFUL]


def test_what_a_person_confirmed_by_voice_holds_too() -> None:
    known = (spoken(2.0), spoken(2.0, Standing.CONFIRMED))
    (judged,) = reconcile(known, (spoken(2.5),))
    assert (judged.standing, judged.why) == (DOUBTFUL, "a person confirmed 2 bar")
    new = (Heard(spoken(2.5)), Heard(spoken(2.6), knowingly=True))
    assert [r.standing for r in reconcile_heard(known, new)] == [DOUBTFUL, DOUBTFUL]
    assert reconcile_heard(known, (Heard(spoken(2.5), knowingly=True),))[0].standing is CLEAR
