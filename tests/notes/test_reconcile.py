from __future__ import annotations

from recorder.model.reading import Reading, Spoken, Standing, Typed
from recorder.notes.reconcile import reconcile
from tests.notes.telling import card

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL


def spoken(
    value: float,
    standing: Standing = CLEAR,
    why: str = "",
    start_s: float | None = 1.0,
    run: int = 1,
) -> Reading:
    evidence = Spoken(file="a.wav", said="", start_s=start_s, end_s=start_s)
    return Reading(
        field="pressure",
        value=value,
        unit="bar",
        standing=standing,
        evidence=evidence,
        why=why,
        run=run,
    )


def test_the_same_as_typed_becomes_clear() -> None:
    (judged,) = reconcile(card({"pressure": "2.2 bar"}), (spoken(2.206, DOUBTFUL, "unsure"),))
    assert (judged.value, judged.standing, judged.why) == (2.206, CLEAR, "")


def test_another_value_than_typed_is_asked() -> None:
    (judged,) = reconcile(card({"pressure": "2.2 bar"}), (spoken(2.5),))
    assert (judged.standing, judged.candidates) == (DOUBTFUL, (2.2,))
    assert judged.why == "the job card says 2.2 bar"


def test_another_value_than_told_before_is_asked_unless_it_corrects() -> None:
    told, corrected = reconcile((spoken(2.0),), (spoken(2.5), spoken(2.6, why="corrects 2.5 bar")))
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
