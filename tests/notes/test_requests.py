"""What is asked of the recorder, and what only sounds so."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.model.transcript import Hearing, Utterance
from recorder.notes.languages import LANGUAGES, vocabulary_of
from recorder.notes.requests.grammar import _list, _patterns, _rest_patterns, askings
from recorder.notes.requests.request import Ask, Request, Timer
from recorder.notes.requests.requests import asked, request
from recorder.notes.words.lexer import tokens_of
from recorder.notes.words.speaking import speaking
from tests.bench.requests import (
    GRAVE,
    Case,
    Score,
    as_text,
    carried,
    cases,
    fires_in_narration,
    narrated,
)
from tests.notes.telling import utterance

# Negated it is a request again.
_MEANT = {"Do not listen again."}


def heard(*hearings: str, probability: float = 0.9) -> Utterance:
    """One utterance, heard in as many ways."""
    first = utterance(hearings[0], probability=probability)
    others = tuple(
        Hearing(way=f"{n}", words=utterance(h).words) for n, h in enumerate(hearings[1:])
    )
    return first.model_copy(update={"others": others})


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", ["development", "report"])
def test_requests_are_understood_and_nothing_else_is(name: str, language: str) -> None:
    score = Score()
    with speaking(vocabulary_of(language)):
        for case in cases(name, language):
            score.add(case, asked(as_text(case.said)).requests, case.said)
    assert (score.false, score.wrong) == ([], [])
    asks = score.hits + len(score.loose) + len(score.missed)
    assert score.hits >= (0.9 if name == "report" else 1.0) * asks, [*score.told()]


@pytest.mark.parametrize("language", LANGUAGES)
def test_inside_of_another_sentence_a_request_is_none(language: str) -> None:
    with speaking(vocabulary_of(language)):
        every = [c for name in ("development", "report") for c in cases(name, language)]
        inside = [said for case in every for said in carried(case, language)][::5]
        fires = [said for said in inside if asked(as_text(said)).requests]
    assert len(inside) > 150
    assert set(fires) <= _MEANT


def test_no_narration_asks_anything() -> None:
    lines = list(narrated())[::4]
    assert len(lines) > 300
    assert [line for line in lines if fires_in_narration(line)] == []


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Start a four minute dwell timer.", {"timer": Timer.DWELL, "seconds": 240.0}),
        ("Start a 4-minute dwell timer.", {"timer": Timer.DWELL, "seconds": 240.0}),
        ("Set a timer for a minute and a half.", {"timer": Timer.OTHER, "seconds": 90.0}),
        ("Read back the pressure.", {"field": "pressure"}),
        ("Read back the precious.", {"field": "pressure"}),
        ("Note that the guard is off.", {"text": "the guard is off"}),
        ("Next slice.", {"ask": Ask.NEXT_SPLICE}),
    ],
)
def test_what_is_meant_is_picked_up(said: str, meant: dict[str, Any]) -> None:
    found = request(as_text(said))
    assert found is not None
    assert {name: getattr(found, name) for name in meant} == meant


def test_both_platens_are_two_requests() -> None:
    found = asked(as_text("Read back both platens.")).requests
    assert [one.field for one in found] == ["top_temperature", "bottom_temperature"]


def test_requests_may_follow_one_another() -> None:
    found = asked(as_text("Take a photo and then go to the next splice.")).requests
    assert [one.ask for one in found] == [Ask.PHOTO, Ask.NEXT_SPLICE]


def test_what_is_told_besides_is_left() -> None:
    both = asked(heard("Pressure two bar. Take a photo.", "pressure 2 bar. Take a photo"))
    assert [one.ask for one in both.requests] == [Ask.PHOTO]
    assert both.rest is not None
    assert (both.rest.text, both.rest.others[0].text) == ("Pressure two bar.", "pressure 2 bar.")
    assert asked(as_text("Okay. Take a photo.")).rest is None
    alone = as_text("Pressure two bar.")
    assert asked(alone) == asked(alone).model_copy(update={"requests": (), "rest": alone})


@pytest.mark.parametrize(
    ("hearings", "ask", "sure"),
    [
        (("Finish the job.", "finish the job", "Finish the job", "finish a job"), Ask.FINISH, True),
        (("Finish the job.", "finish the job", "finish a shop", "finish"), Ask.FINISH, False),
        (("Vanish.", "finish the job", "finish the job", "finish the job"), Ask.FINISH, False),
        (("Finish the job.", "finish the ship", "vanish the jaw", "finished"), None, False),
        (("Undo.", "under", "under", "Undo."), Ask.UNDO, False),
        (("Undo.", "and do.", "Undo", "Undo."), Ask.UNDO, False),
        (("Start the dwell timer.", "start the timer"), Ask.TIMER_START, False),
        (("Take a photo.", ""), Ask.PHOTO, False),
    ],
)  # fmt: skip
def test_the_hearings_vote(hearings: tuple[str, ...], ask: Ask | None, sure: bool) -> None:
    found = request(heard(*hearings))
    assert (found and found.ask, bool(found and found.sure)) == (ask, sure)


def test_a_noise_asks_nothing() -> None:
    assert request(heard("Undo.", "Undo.", "Under.", probability=0.05)) is None
    alike = request(heard("Undo.", "Undo.", probability=0.05))
    assert alike is not None
    assert not alike.sure
    sure = request(heard("Finish the job please.", "Finish the job please.", probability=0.05))
    assert sure is not None
    assert not sure.sure


@pytest.mark.parametrize(
    "said",
    [
        "Job done.", "Can you finish the job?", "Finish the job?", "We're done here.",
        "Pressure two bar. Finish the job.", "Pressure two bar. Undo.",
        "Let's go to the next splice.",
    ],
)  # fmt: skip
def test_what_may_be_meant_for_somebody_else_is_not_sure(said: str) -> None:
    found = request(as_text(said))
    assert found is not None
    assert found.ask in GRAVE
    assert not found.sure


@pytest.mark.parametrize(
    "said",
    [
        "He said. Finish the job.",
        "What is the conveyor? Conveyor is Sorter Two.",
        "",
        "...",
        "Please.",
    ],
)
def test_these_ask_nothing(said: str) -> None:
    assert asked(as_text(said)).requests == ()


def test_what_asks_and_what_tells_score_apart() -> None:
    """The score would show a false fire, a miss and a grave one."""
    score = Score()
    finish = Request(ask=Ask.FINISH, said="")
    score.add(Case("We finish.", None), (finish,), "We finish.")
    score.add(Case("Finish.", finish), (), "Finish.")
    score.add(Case("Undo.", finish.model_copy(update={"ask": Ask.UNDO})), (finish,), "Undo.")
    assert (len(score.false), len(score.grave), len(score.missed), len(score.wrong)) == (1, 1, 1, 1)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_phrase_of_a_request_is_made_of_lists_that_are_there(language: str) -> None:
    with speaking(vocabulary_of(language)):
        assert len(_patterns()) + len(_rest_patterns()) > 100
        assert all(_list(name) for name in ("before", "addressing", "after", "joints"))


_WORDS = (
    "please can you take a photo note that and then start four minutes dwell timer . ? , the",
    "next splice pressure read back undo finish job",
)
_PIECES = st.sampled_from([word for words in _WORDS for word in words.split()])


@given(st.lists(_PIECES | st.text(max_size=5), max_size=40).map(" ".join))
def test_anything_can_be_said(text: str) -> None:
    found = asked(as_text(text))
    assert all(one.said in " ".join(text.split()) for one in found.requests)
    assert bool(found.requests) or found.rest is not None
    askings(tokens_of(text))
