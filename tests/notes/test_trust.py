"""When a heard value is stood by, and what is offered instead."""

from __future__ import annotations

import pytest

from recorder.model.reading import Reading, Standing
from recorder.model.transcript import Utterance
from tests.notes.telling import card, heard, utterance

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL


def only(*utterances: Utterance, known: tuple[Reading, ...] = ()) -> Reading:
    (reading,) = heard(*utterances, known=known).readings
    return reading


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
    assert "second hearing" in reading.why
    assert reading.candidates[0] == candidate


def test_a_value_that_the_second_hearing_lacks() -> None:
    reading = only(utterance("Top platen 172 degrees Celsius.", "Stop talking now."))
    assert reading.standing is DOUBTFUL


def test_a_value_that_only_the_second_hearing_has() -> None:
    reading = only(utterance("press jaw thirty tea side", "pressure thirty two psi"))
    assert (reading.field, reading.standing) == ("pressure", DOUBTFUL)
    assert "only the second hearing" in reading.why


def test_a_number_heard_with_low_probability() -> None:
    reading = only(utterance("Top platen 172 degrees Celsius.", "=", probability=0.2))
    assert reading.standing is DOUBTFUL
    assert "low probability (0.20)" in reading.why


@pytest.mark.parametrize(
    ("text", "sibling"),
    [
        ("Belt width 17 millimetres.", 70.0),
        ("Belt width 70 millimetres.", 17.0),
        ("Dwell 15 minutes.", 3000.0),
        ("Cool down to 60 degrees Celsius.", 16.0),
    ],
)
def test_seventeen_and_seventy(text: str, sibling: float) -> None:
    reading = only(utterance(text, "="))
    assert (reading.standing, reading.candidates) == (DOUBTFUL, (sibling,))
    assert "sounds like" in reading.why


def test_seventeen_is_not_asked_where_seventy_cannot_be() -> None:
    assert only(utterance("Belt thickness 13 millimetres.", "=")).standing is CLEAR


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


@pytest.mark.parametrize(
    ("first", "second", "standing"),
    [
        ("customer Larkfield Bakery", "customer Larkfield Bakery", CLEAR),
        ("customer Larkfield Bakery", "customer Larkville Bakery", DOUBTFUL),
        ("customer Larkfield Bakery", None, DOUBTFUL),
    ],
)
def test_a_heard_name(first: str, second: str | None, standing: Standing) -> None:
    assert only(utterance(first, second)).standing is standing


def test_a_name_near_the_job_cards_is_the_job_cards() -> None:
    known = card({"customer": "Larkfield Bakery"})
    reading = only(utterance("customer Larkville Bakery"), known=known)
    assert (reading.value, reading.standing) == ("Larkfield Bakery", CLEAR)
