"""What a recogniser makes of short words, and which hearing is gone by."""

from __future__ import annotations

import pytest

from recorder.model.reading import Reading, Standing
from recorder.model.transcript import Hearing, Utterance
from tests.notes.telling import heard, utterance

DOUBTFUL = Standing.DOUBTFUL


def only(*utterances: Utterance) -> Reading:
    (reading,) = heard(*utterances).readings
    return reading


def four(*hearings: str) -> Utterance:
    first, *rest = (utterance(text).words for text in hearings)
    others = tuple(Hearing(way=str(n), words=words) for n, words in enumerate(rest))
    return Utterance(words=first, others=others)


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("Pressure, one boy, eight, bar.", "pressure", 1.8),
        ("Pressure one void nine bar.", "pressure", 1.9),
        ("Pressure is to point for bar.", "pressure", 2.4),
        ("Pressure not 0.9 bar.", "pressure", 0.9),
        ("Pressure to bar.", "pressure", 2.0),
        ("Holding 1.7 guard.", "pressure", 1.7),
        ("Gap it's not point four millimetres.", "finger_gap", 0.4),
        ("Bottom plate 1-88.", "bottom_temperature", 188.0),
        ("Well, that was five and a half minutes.", "dwell_time", 330.0),
        ("Belled with 24 inches.", "belt_width", 609.6),
        ("12, 4 minutes.", "dwell_time", 240.0),
        ("Twelve for 3 minutes.", "dwell_time", 180.0),
        ("Well as three and a quarter minutes.", "dwell_time", 195.0),
        ("Gotten 180.", "bottom_temperature", 180.0),
    ],
)
def test_mended_and_asked(text: str, field: str, value: float) -> None:
    reading = only(utterance(text, "="))
    assert (reading.field, reading.value, reading.standing) == (field, value, DOUBTFUL)


@pytest.mark.parametrize(
    "text",
    [
        "Well, see you at twelve.",
        "It's not the end.",
        "I got a sandwich for two minutes ago.",
        "At this point the boy left.",
        "Both ladies laughed.",
        "One seventy five as well.",
        "It all went well.",
    ],
)
def test_everyday_words_stay_what_they_are(text: str) -> None:
    assert heard(utterance(text, "=")).readings == ()


def test_a_torn_number_is_read_whole_where_that_leaves_none_over() -> None:
    torn = utterance("Dwell time 2, 4, 0, seconds.", "Dwell time two, four, zero, seconds.")
    assert only(torn).value == 240.0
    assert only(utterance("It was pressed at one point, one bar.", "=")).value == 1.1


def test_a_trade_word_of_another_hearing_settles_its_homophone() -> None:
    sure = ("Well, four minutes.", "Dwell four minutes.", "12, 4 minutes.", "Well four minutes.")
    assert only(four(*sure)).value == 240.0
    assert "heard as" not in only(four(*sure)).why
    unsure = ("Well, four minutes.", "Well four minutes.", "12, 4 minutes.", "Well four minutes.")
    assert (only(four(*unsure)).value, only(four(*unsure)).standing) == (240.0, DOUBTFUL)
    assert "heard as" in only(four(*unsure)).why


def test_a_setting_that_cannot_be_is_no_addition() -> None:
    first = "Top platen's one eighty four, same for the bottom."
    found = heard(utterance(first, "Top platen's 180 bar, same for the bottom.")).readings
    assert {reading.field for reading in found} == {"top_temperature", "bottom_temperature"}


def test_a_number_that_may_go_on_over_a_pause_is_asked() -> None:
    torn = only(four(*["Pressure is one, boy, nine bar."] * 4))
    assert (torn.value, torn.standing) == (1.9, DOUBTFUL)
    said = ("Cycle time one, seven minutes.", "Cycle time 1, 7 minutes.")
    reading = only(utterance(*said))
    assert (reading.value, reading.standing) == (1020.0, DOUBTFUL)
    assert "go on over a pause" in reading.why


def test_seconds_after_a_pause_go_to_their_minutes() -> None:
    *_, last = heard(utterance("Dwell two minutes."), utterance("30, accepted.")).readings[:2]
    assert (last.field, last.value, last.standing) == ("dwell_time", 150.0, DOUBTFUL)
