"""Which of several hearings is gone by, and what the others add."""

from __future__ import annotations

import pytest

from recorder.model.reading import Reading, Standing
from recorder.model.transcript import Hearing, Utterance, Word
from tests.notes.telling import heard

CLEAR, DOUBTFUL = Standing.CLEAR, Standing.DOUBTFUL


def words(text: str) -> tuple[Word, ...]:
    return tuple(
        Word(text=word, start_s=0.5 * i, end_s=0.5 * i + 0.4, probability=0.95)
        for i, word in enumerate(text.split())
    )


def readings(first: str, *others: str) -> tuple[Reading, ...]:
    ways = tuple(Hearing(way=str(n), words=words(text)) for n, text in enumerate(others))
    return heard(Utterance(words=words(first), others=ways)).readings


def found(first: str, *others: str) -> tuple[object, Standing]:
    (reading,) = readings(first, *others)
    return reading.value, reading.standing


def test_what_all_hearings_have_is_clear() -> None:
    said = ("top platen one seventy two degrees", "Top platen 172 degrees.")
    assert found("Top platen 172 degrees.", *said, said[0]) == (172.0, CLEAR)


def test_an_implausible_value_gives_way() -> None:
    others = ("top platen one six nine degrees",) * 2
    assert found("Top platen 1.69 degrees.", *others, "stop lateen")[0] == 169.0


def test_a_plausible_value_that_stands_alone_is_outvoted_and_offered() -> None:
    (reading,) = readings(
        "Cool down to 15 degrees Celsius.", *("Cool down to 50 degrees Celsius.",) * 3
    )
    assert (reading.value, reading.standing) == (50.0, DOUBTFUL)
    assert 15.0 in reading.candidates


def test_in_a_draw_the_first_hearing_wins() -> None:
    value, standing = found("Dwell 3 minutes.", "Dwell four minutes.")
    assert (value, standing) == (180.0, DOUBTFUL)


@pytest.mark.parametrize("first", ["", "…"])
def test_what_only_the_others_heard_is_not_lost(first: str) -> None:
    value, _ = found(first, "Pressure two bar.", "Pressure 2 bar.")
    assert value == 2.0


def test_commas_that_a_recogniser_strews_are_read_over() -> None:
    others = ("top platen, one, seventy, two degrees", "Top platen 172 degrees.")
    assert found("top platen, one, seventy, two, degrees,", *others)[0] == 172.0


def test_each_field_of_a_list_is_judged_by_itself() -> None:
    first = "Pressure 2 bar, dwell 3 minutes, no bubbles."
    others = ("Pressure two bar, dwell four minutes, no bubbles.",) + (first,) * 2
    standings = {r.field: r.standing for r in readings(first, *others)}
    assert standings == {"pressure": CLEAR, "dwell_time": DOUBTFUL, "bubbles": CLEAR}


def test_silence_in_all_hearings_is_nothing() -> None:
    assert readings("", "", "...") == ()


@pytest.mark.parametrize("others", [("", "", ""), ("...", "", "")])
def test_a_hearing_that_heard_nothing_speaks_against_the_value(others: tuple[str, ...]) -> None:
    assert found("Top platen 190 degrees C.", *others) == (190.0, DOUBTFUL)


def test_the_same_number_of_another_field_is_no_agreement() -> None:
    first = "Top platen was 180 degrees C for 4 minutes."
    others = ("Bottom platen was 180 degrees C for 4 minutes.",) * 3
    standings = {r.field: r.standing for r in readings(first, *others)}
    assert standings.get("top_temperature", DOUBTFUL) is DOUBTFUL


def test_superscripts_are_no_digits_to_mend() -> None:
    assert readings("¹² too minutes", "¹² two minutes") is not None
