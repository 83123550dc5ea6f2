"""What words are to a question that is open while everybody goes on talking."""

from __future__ import annotations

import pytest
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from recorder.model.reading import Reading, Standing
from recorder.model.transcript import Hearing
from recorder.notes.conversation import Answer, Conversation
from recorder.notes.languages import vocabulary_of
from recorder.notes.short_answers import AnswerKind, choices
from recorder.notes.words.speaking import speaking
from tests.bench.requests import as_text
from tests.notes.telling import told, utterance

CLEAR, DOUBTFUL, CONFIRMED = Standing.CLEAR, Standing.DOUBTFUL, Standing.CONFIRMED
VALUE, YES, NO = AnswerKind.VALUE, AnswerKind.YES, AnswerKind.NO
LATER, NO_VALUE, NONE = AnswerKind.LATER, AnswerKind.NO_VALUE, AnswerKind.NOT_AN_ANSWER

PRESSURE = told("Second splice. Pressure two bar.").readings[-1]


def doubtful(field: str, text: str, *candidates: float) -> Reading:
    """A reading of the text's last value that may be one of the candidates."""
    reading = told(text).readings[-1]
    assert reading.field == field
    return reading.model_copy(update={"standing": DOUBTFUL, "why": "", "candidates": candidates})


TOP = doubtful("top_temperature", "Top platen 172 degrees Celsius.", 178.0)


def answer(question: Reading | str, words: str, choosing: bool = False) -> Answer:
    known = (question,) if isinstance(question, Reading) else ()
    return Conversation(known).answer("a.flac", as_text(words), None, question, known, choosing)


def given(found: Answer) -> list[tuple[str, object, Standing]]:
    return [(r.field, r.value, r.standing) for r in found.extraction.readings]


@pytest.mark.parametrize("words", ["yes", "Yes please.", "Yep.", "That's correct.", "Yes, it is."])
def test_yes_confirms(words: str) -> None:
    found = answer(PRESSURE, words)
    assert (found.kind, given(found)) == (YES, [("pressure", 2.0, CONFIRMED)])
    assert found.extraction.readings[0].splice == 2


@pytest.mark.parametrize(
    "words", ["Okay.", "Right.", "Right then.", "Sure.", "Okay, so.", "Right, we had it in there."]
)
def test_what_one_says_to_oneself_confirms_nothing(words: str) -> None:
    assert answer(PRESSURE, words) == Answer(answer(PRESSURE, words).extraction, NONE)
    assert given(answer("bubbles", words)) == []


@pytest.mark.parametrize(
    ("question", "words", "kind", "value"),
    [
        ("pressure", "two point two", VALUE, 2.2),
        ("pressure", "About two point two I would say.", VALUE, 2.2),
        ("dwell_time", "three and a half minutes", VALUE, 210.0),
        ("customer", "It's Larkfield Bakery.", VALUE, "Larkfield Bakery"),
        ("template", "F 80", VALUE, "F80"),
        ("job_number", "four eight one seven", VALUE, "4817"),
        ("bubbles", "None.", VALUE, False),
        ("bubbles", "no", NO, False),
        ("arrived_at", "at ten past eight", VALUE, "08:10"),
        ("outcome", "accepted", VALUE, "accepted"),
    ],
)
def test_a_field_without_a_value_gets_one(
    question: str, words: str, kind: AnswerKind, value: object
) -> None:
    found = answer(question, words)
    assert (found.kind, [r.value for r in found.extraction.readings]) == (kind, [value])


TALK = (
    "There were three lads standing here.",
    "Give me two minutes.",
    "Two guards are still to come off.",
    "Can you pass me the knife?",
    "Number two guard is loose.",
    "Thanks mate.",
    "Where did he put the key?",
    "The wind is strong today.",
    "Finger splice.",
    "Heat is on.",
    "I have twenty minutes left on the meter.",
)


@pytest.mark.parametrize("words", TALK)
@pytest.mark.parametrize(
    "question",
    ["customer", "job_number", "pressure", "dwell_time", "bubbles", "arrived_at", "supply_phases"],
)
def test_talk_is_no_answer_and_changes_nothing(question: str, words: str) -> None:
    asked, fresh = Conversation(), Conversation()
    found = asked.answer("a.flac", as_text(words), None, question, ())
    assert (found.kind, given(found)) == (NONE, [])
    heard = [c.hear("a.flac", as_text(words), None, ()) for c in (asked, fresh)]
    assert heard[0] == heard[1]


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("Later.", LATER),
        ("Ask me later please.", LATER),
        ("Skip it.", LATER),
        ("I don't know.", NO_VALUE),
        ("It wasn't measured.", NO_VALUE),
        ("That doesn't apply here.", NO_VALUE),
        ("Not measured.", NO_VALUE),
        ("Dwell four minutes.", NONE),
        ("What is missing?", NONE),
    ],
)
def test_no_value(words: str, kind: AnswerKind) -> None:
    for question in (PRESSURE, "pressure"):
        found = answer(question, words)
        assert (found.kind, given(found)) == (kind, [])


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("The first.", 172.0),
        ("the first one please", 172.0),
        ("The second one.", 178.0),
        ("the latter", 178.0),
        ("The lower one.", 172.0),
        ("the higher", 178.0),
        ("Seventy-two.", 172.0),
        ("seventy eight", 178.0),
        ("78", 178.0),
        ("one seventy eight", 178.0),
    ],
)
def test_one_of_those_that_were_offered(words: str, value: float) -> None:
    assert choices(TOP) == (172.0, 178.0)
    found = answer(TOP, words, choosing=True)
    assert (found.kind, [r.value for r in found.extraction.readings]) == (VALUE, [value])
    assert found.extraction.readings[0].standing is not DOUBTFUL


@pytest.mark.parametrize(
    ("words", "kind"),
    [("Yes.", NONE), ("No.", NO), ("Neither.", NO), ("Neither of them.", NO), ("Two.", NONE)],
)
def test_none_of_those_that_were_offered(words: str, kind: AnswerKind) -> None:
    found = answer(TOP, words, choosing=True)
    assert (found.kind, [r for r in given(found) if r[2] is not DOUBTFUL]) == (kind, [])


def test_the_end_of_both_numbers_is_no_choice() -> None:
    both = doubtful("top_temperature", "Top platen 172 degrees Celsius.", 272.0)
    assert given(answer(both, "seventy two", choosing=True)) != [
        ("top_temperature", 172.0, CONFIRMED)
    ]


def test_a_choice_goes_by_the_unit_that_was_said() -> None:
    said = doubtful("top_temperature", "Top platen 350 degrees Fahrenheit.", (356 - 32) / 1.8)
    (reading,) = answer(said, "fifty six", choosing=True).extraction.readings
    assert reading.as_said is not None
    assert (round(reading.as_said.value, 3), reading.as_said.unit) == (356.0, "degF")


def test_an_answer_may_tell_more() -> None:
    found = answer(TOP, "No, one seventy three, and dwell four minutes.")
    assert (found.kind, [r[:2] for r in given(found)]) == (
        VALUE,
        [("top_temperature", 173.0), ("dwell_time", 240.0)],
    )
    found = answer(PRESSURE, "Yes, and dwell four minutes.")
    assert (found.kind, given(found)) == (
        YES,
        [("pressure", 2.0, CONFIRMED), ("dwell_time", 240.0, CLEAR)],
    )
    assert answer("bubbles", "No, the dwell was four minutes.").kind is NONE


@pytest.mark.parametrize(
    ("question", "words", "value"),
    [
        (PRESSURE, "Yes, two bar.", 2.0),
        (PRESSURE, "yes two bar", 2.0),
        (TOP, "Yes, one seventy two.", 172.0),
        (TOP, "Yeah one seventy two degrees.", 172.0),
    ],
)
def test_a_yes_with_the_value_confirms_it_once(question: Reading, words: str, value: float) -> None:
    for choosing in (False, True):
        found = answer(question, words, choosing)
        assert (found.kind, given(found)) == (VALUE, [(question.field, value, CONFIRMED)])


def test_the_value_is_of_the_place_that_was_asked_about() -> None:
    session = Conversation((PRESSURE,))
    session.move_to(3, 1)
    found = session.answer("a", as_text("two point two"), None, PRESSURE, (PRESSURE,))
    (reading,) = found.extraction.readings
    assert (reading.splice, session.splice) == (2, 3)
    missing = session.answer(
        "a", as_text("four minutes"), None, "dwell_time", (PRESSURE,), at=(1, 1)
    )
    assert [(r.splice, r.run) for r in missing.extraction.readings] == [(1, 1)]
    assert session.splice == 3


def test_a_noise_or_a_split_vote_confirms_nothing() -> None:
    for said in (utterance("Yes.", "=", probability=0.05), utterance("Yes.", "Guess.")):
        found = Conversation().answer("a", said, None, PRESSURE, (PRESSURE,))
        assert (found.kind, given(found)) == (NONE, [])


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("Ja.", YES),
        ("Nein.", NO),
        ("Später.", LATER),
        ("Weiß ich nicht.", NO_VALUE),
        ("Nicht gemessen.", NO_VALUE),
        ("Okay.", NONE),
        ("Zwei Komma zwei Bar.", VALUE),
        ("Gib mir mal das Messer.", NONE),
    ],
)
def test_in_german(words: str, kind: AnswerKind) -> None:
    with speaking(vocabulary_of("de")):
        assert answer(PRESSURE, words).kind is kind


@pytest.mark.parametrize(("words", "value"), [("Der zweite.", 178.0), ("Den niedrigeren.", 172.0)])
def test_a_choice_in_german(words: str, value: float) -> None:
    with speaking(vocabulary_of("de")):
        (reading,) = answer(TOP, words, choosing=True).extraction.readings
    assert (reading.value, reading.standing) == (value, CONFIRMED)


_WORDS = (
    "yes no later the first second one seventy two three bar minutes degrees pressure dwell",
    "Larkfield Bakery and , . ? neither okay not measured next splice F 80",
)
_PIECES = st.sampled_from([word for words in _WORDS for word in words.split()])


@drawn(
    st.lists(_PIECES | st.text(max_size=5), max_size=12).map(" ".join),
    st.sampled_from([PRESSURE, TOP, "customer", "bubbles", "arrived_at", "job_number"]),
    st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_anything_can_be_answered(words: str, question: Reading | str, choosing: bool) -> None:
    found = answer(question, words, choosing)
    field = question.field if isinstance(question, Reading) else question
    assert (found.kind is NONE) <= (given(found) == [])
    assert (found.kind is VALUE) <= any(name == field for name, _, _ in given(found))


def test_one_hearing_that_has_no_word_leaves_a_short_answer_to_the_others() -> None:
    """As the recogniser gives nothing at all for a short sound now and then."""
    alike = Hearing(way="in words", words=utterance("yes").words)
    empty = Hearing(way="unprompted", words=())
    other = Hearing(way="unprompted", words=utterance("is").words)

    def kind(*others: Hearing) -> AnswerKind:
        said = utterance("yes").model_copy(update={"others": others})
        return Conversation((PRESSURE,)).answer("a", said, None, PRESSURE, (PRESSURE,)).kind

    assert kind(alike, empty) is kind(alike, alike, empty) is YES
    assert kind(alike, other) is kind(empty) is kind(alike, empty, empty) is NONE
