"""When a heard value is stood by, and what is offered instead."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.model.calibration import Calibration
from recorder.model.reading import Reading, Standing
from recorder.model.transcript import Utterance
from recorder.notes.fields.slot import Slot
from recorder.notes.hearing.signals import Signals
from recorder.notes.hearing.trust import calibration_of, doubts_of, shipped, trust_of
from tests.notes.telling import card, heard, utterance

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL


def only(
    *utterances: Utterance, known: tuple[Reading, ...] = (), trust: Calibration | None = None
) -> Reading:
    (reading,) = heard(*utterances, known=known, trust=trust).readings
    return reading


def trusting(**weights: float) -> Calibration:
    """Stands by whatever has no signal of these against it."""
    named = {name.replace("_", " "): weight for name, weight in weights.items()}
    return Calibration(weights={"heard": 3.0, **named}, clear_from=0.9)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (
            "Top platen 172 degrees Celsius.",
            "Top platen one hundred and seventy-two degrees Celsius.",
        ),
        (
            "Top platen 172 degrees Celsius.",
            "Top platen one hundred and seventy two degree solstice.",
        ),
        ("Pressure 32 psi.", "Pressure, thirty, two psi."),
        ("Pressure 32 psi.", "press you thirty two psi"),
        ("Job number 4817.", "Job number four, eight, one seven."),
        ("Dwell 3 minutes.", "well three minutes"),
    ],
)
def test_two_hearings_that_agree(first: str, second: str) -> None:
    assert only(utterance(first, second)).standing is CLEAR


@pytest.mark.parametrize(
    ("first", "second", "candidate"),
    [
        (
            "Top platen 172 degrees Celsius.",
            "Top platen one hundred and seventy nine degrees Celsius.",
            179.0,
        ),
        ("Dwell 3 minutes.", "Dwell four minutes.", 240.0),
        ("No bubbles.", "Bubbles.", True),
        ("Job number 4817.", "Job number four eight one eleven.", "48111"),
        ("Splice accepted.", "Splice rejected.", "rejected"),
    ],
)
def test_two_hearings_that_differ(first: str, second: str, candidate: bool | float | str) -> None:
    reading = only(utterance(first, second))
    assert reading.standing is DOUBTFUL
    assert "1 of 2 hearings have" in reading.why
    assert reading.candidates[0] == candidate


def test_a_value_that_the_second_hearing_lacks() -> None:
    reading = only(utterance("Top platen 172 degrees Celsius.", "Stop talking now."))
    assert reading.standing is DOUBTFUL


def test_a_value_that_only_the_second_hearing_has() -> None:
    first = "No bubbles, splice accepted, press jaw thirty tea side."
    second = "No, splice accepted, pressure thirty two psi."
    found = heard(utterance(first, second)).readings
    (reading,) = (r for r in found if r.field == "pressure")
    assert reading.standing is DOUBTFUL
    assert "only another hearing" in reading.why


def test_a_number_heard_with_low_probability() -> None:
    said = "Top platen 172 degrees Celsius."
    trust = trusting(improbable=-2.0)
    assert only(utterance(said, "=", probability=0.9), trust=trust).standing is CLEAR
    reading = only(utterance(said, "=", probability=0.2), trust=trust)
    assert (reading.standing, reading.why) == (DOUBTFUL, "heard with probability 0.20")


@pytest.mark.parametrize(
    ("text", "sibling"),
    [
        ("Belt width 17 millimetres.", 70.0),
        ("Belt width 70 millimetres.", 17.0),
        ("Cycle time 15 minutes.", 3000.0),
        ("Ambient 40 degrees Celsius.", 14.0),
    ],
)
def test_seventeen_and_seventy(text: str, sibling: float) -> None:
    reading = only(utterance(text, "="), trust=trusting())
    assert (reading.standing, reading.candidates) == (DOUBTFUL, (sibling,))
    assert "sounds like" in reading.why


def test_seventeen_is_not_asked_where_seventy_cannot_be() -> None:
    trust = trusting()
    said = utterance("Belt thickness 13 millimetres.", "=")
    assert only(said, trust=trust).standing is CLEAR


def test_the_job_card_settles_doubts_about_the_hearing() -> None:
    known = card({"belt_width": "70 mm"}, {"dwell_time": "3 min"})
    assert only(utterance("felt with 70 millimetres", "="), known=known).standing is CLEAR
    assert only(utterance("Well time 3 minutes", "="), known=known).standing is CLEAR


def test_the_job_card_does_not_settle_a_guess() -> None:
    known = card(asked={"top_temperature": "172 degC"})
    reading = only(utterance("Maybe the top platen is at 172 degrees Celsius", "="), known=known)
    assert reading.standing is DOUBTFUL


def test_a_heard_value_beside_the_job_card_is_asked() -> None:
    known = card({"belt_width": "70 mm"}, {"top_temperature": "172 degC"})
    width = only(utterance("Belt width 17 millimetres", "="), known=known)
    assert (width.value, width.standing, width.candidates) == (17.0, DOUBTFUL, (70.0,))
    top = only(utterance("Top platen 179 degrees Celsius", "="), known=known)
    assert (top.standing, top.candidates) == (DOUBTFUL, (172.0,))
    assert top.why == "the job card asks for 172 °C"


@pytest.mark.parametrize("second", ["customer Larkfield Bakery", "customer Larkville Bakery", None])
def test_a_heard_name_is_asked(second: str | None) -> None:
    reading = only(utterance("customer Larkfield Bakery", second))
    assert (reading.value, reading.standing) == ("Larkfield Bakery", DOUBTFUL)


def test_a_name_near_the_job_cards_is_the_job_cards() -> None:
    known = card({"customer": "Larkfield Bakery"})
    reading = only(utterance("customer Larkville Bakery"), known=known)
    assert (reading.value, reading.standing) == ("Larkfield Bakery", CLEAR)


def signals(**given: object) -> Signals:
    best = Signals(
        kind="number", probability=1.0, certainty=1.0, others=3, agreeing=3, instead=(), stray=0,
        clarity=1.0, clarity_around=1.0, sibling=None,
    )  # fmt: skip
    return dataclasses.replace(best, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize("model", sorted(shipped()))
def test_a_shipped_calibration_trusts_the_best_and_nothing_speaks_for_the_worse(model: str) -> None:
    calibration = shipped()[model]
    assert set(calibration.weights) == set(signals().measures())
    assert all(weight <= 0 for name, weight in calibration.weights.items() if name != "heard")
    best = trust_of(signals(), calibration)
    assert best > calibration.clear_from
    worst = signals(agreeing=0, instead=((179.0, 3),), probability=0.1, clarity_around=0.5)
    assert trust_of(worst, calibration) < 0.5 < best


def test_a_homes_own_calibration_goes_before_the_shipped_and_the_bundled_models() -> None:
    own = {"large": trusting()}
    assert calibration_of("unheard-of", own) == shipped()["tiny.en"]
    assert calibration_of("large", own) == own["large"]
    assert calibration_of(None, {}) == shipped()["tiny.en"]


@given(
    st.floats(0.0, 1.0), st.integers(0, 3), st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.booleans()
)
def test_whatever_is_asked_says_why(
    probability: float, agreeing: int, clarity: float, around: float, sibling: bool
) -> None:
    found = signals(
        probability=probability, agreeing=agreeing, clarity=clarity, clarity_around=around,
        sibling=70.0 if sibling else None,
    )  # fmt: skip
    calibration = shipped()["tiny.en"]
    slot = Slot("belt_width", 17.0, 0, 1, (0,))
    reasons, candidates = doubts_of(slot, found, calibration)
    assert bool(reasons) is (sibling or trust_of(found, calibration) < calibration.clear_from)
    assert all(reasons)
    assert (70.0 in candidates) is sibling


def test_digits_told_one_by_one_are_asked_unless_each_is_sure() -> None:
    said = "Top platen one seven five degrees Celsius."
    assert only(utterance(said, "=", probability=0.9), trust=trusting()).standing is CLEAR
    reading = only(utterance(said, "=", probability=0.4), trust=trusting())
    assert (reading.value, reading.standing) == (175.0, DOUBTFUL)
    assert reading.why == "told digit by digit, heard with probability 0.40"
    grouped = utterance("Top platen one seventy five degrees Celsius.", "=", probability=0.4)
    assert only(grouped, trust=trusting()).standing is CLEAR


def test_an_answer_to_a_question_is_no_slip() -> None:
    calibration = trusting()
    slot = Slot("dwell_time", 180.0, 0, 1, (0,), corrects=True)
    assert doubts_of(slot, signals(), calibration)[0]
    assert not doubts_of(slot, signals(), calibration, answers=True)[0]


@pytest.mark.parametrize(("probability", "standing"), [(0.9, CLEAR), (0.3, DOUBTFUL)])
def test_an_identifier_is_told_digit_by_digit(probability: float, standing: Standing) -> None:
    said = utterance("Job number two one six.", "=", probability=probability)
    reading = only(said, trust=trusting())
    assert (reading.value, reading.standing) == ("216", standing)


@pytest.mark.parametrize(
    ("said", "standing"),
    [("Bubbles.", DOUBTFUL), ("There are bubbles near the edge.", CLEAR), ("No bubbles.", CLEAR)],
)
def test_one_word_does_not_tell_a_finding(said: str, standing: Standing) -> None:
    assert only(utterance(said, "="), trust=trusting()).standing is standing
