"""The words as an answer to a question."""

from __future__ import annotations

import pytest

from recorder.errors import UnknownField
from recorder.model.reading import Reading, Standing
from recorder.model.transcript import Transcript
from recorder.notes.answer import answer
from recorder.notes.extract import Extraction
from recorder.notes.written import from_text
from tests.notes.telling import told, utterance

CLEAR, DOUBTFUL, CONFIRMED = Standing.CLEAR, Standing.DOUBTFUL, Standing.CONFIRMED


def ask(question: Reading | str, words: str, known: tuple[Reading, ...] = ()) -> Extraction:
    return answer(from_text(words, "answer.txt"), question, known)


def top(text: str = "Second splice. Top platen 175 degrees Celsius.") -> Reading:
    return told(text).readings[-1]


@pytest.mark.parametrize(
    "words", ["yes", "Yes.", "Yes, correct.", "that's right", "Yeah, okay", "One seven five."]
)
def test_yes_confirms(words: str) -> None:
    (reading,) = ask(top(), words).readings
    assert (reading.value, reading.standing, reading.splice) == (175.0, CONFIRMED, 2)


@pytest.mark.parametrize(
    "words",
    [
        "no, one seventy two",
        "No, it's 172 degrees.",
        "one seven two",
        "No. 172 Celsius.",
        "top platen 172",
    ],
)
def test_a_value_corrects(words: str) -> None:
    (reading,) = ask(top(), words).readings
    assert (reading.value, reading.standing, reading.splice) == (172.0, CLEAR, 2)
    assert reading.why == "corrects 175 °C"


@pytest.mark.parametrize("words", ["later", "no", "skip", "the phone rang", "I don't know"])
def test_no_value_is_a_note(words: str) -> None:
    extraction = ask(top(), words)
    assert extraction.readings == ()
    assert " ".join(note.text for note in extraction.notes) == words


@pytest.mark.parametrize(
    ("field", "words", "value", "standing"),
    [
        ("top_temperature", "one seven two", 172.0, CLEAR),
        ("top_temperature", "one eighty", 180.0, CLEAR),
        ("pressure", "two point two", 2.2, CLEAR),
        ("pressure", "thirty two psi", 2.20632233381, CLEAR),
        ("dwell_time", "three and a half", 210.0, CLEAR),
        ("dwell_time", "about three minutes I would say", 180.0, CLEAR),
        ("bubbles", "yes", True, CONFIRMED),
        ("bubbles", "no", False, CONFIRMED),
        ("bubbles", "no bubbles", False, CLEAR),
        ("outcome", "accepted", "accepted", CLEAR),
        ("customer", "it's Larkfield Bakery.", "Larkfield Bakery", CLEAR),
        ("job_number", "four eight one seven", "4817", CLEAR),
        ("job_number", "4 8 1 7", "4817", CLEAR),
    ],
)
def test_a_bare_value_takes_the_field(
    field: str, words: str, value: bool | float | str, standing: Standing
) -> None:
    (reading,) = ask(field, words).readings
    assert (reading.field, reading.value, reading.standing) == (field, value, standing)


def test_a_bare_no_to_a_finding_is_asked_once_more() -> None:
    (reading,) = ask(told("Bubbles on the left.").readings[0], "no").readings
    assert (reading.value, reading.standing) == (False, DOUBTFUL)


def test_an_answer_about_something_else_is_taken_as_told() -> None:
    (reading,) = ask("top_temperature", "the pressure is 2 bar").readings
    assert (reading.field, reading.value) == ("pressure", 2.0)


def test_a_yes_that_the_second_hearing_lacks_confirms_nothing() -> None:
    transcript = Transcript(file="a.wav", utterances=(utterance("yes", "guess"),))
    assert answer(transcript, top()).readings == ()


def test_an_unknown_field() -> None:
    with pytest.raises(UnknownField):
        ask("presure", "yes")


@pytest.mark.parametrize(("probability", "standings"), [(0.3, [CONFIRMED]), (0.02, [])])
def test_a_noise_is_no_yes(probability: float, standings: list[Standing]) -> None:
    said = utterance("Yes.", "=", probability=probability)
    found = answer(Transcript(file="heard.wav", utterances=(said,)), top())
    assert [reading.standing for reading in found.readings] == standings
    assert len(found.notes) == (not standings)
