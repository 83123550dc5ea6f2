"""No text crashes the understanding, loses a number, or takes longer than it is long."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.model.fields import FIELDS
from recorder.model.transcript import Hearing, Transcript, Utterance, Word
from recorder.notes.answer import answer
from recorder.notes.extract import extract
from recorder.notes.quantities import find_quantities
from recorder.notes.words.vocabulary import vocabulary
from recorder.notes.written import from_text
from tests.notes.pace import cpu_s, usual_s
from tests.notes.test_extract import DEMO


def _strings(node: object) -> set[str]:
    if isinstance(node, dict):
        return set().union(*(_strings(value) for value in node.values()))
    if isinstance(node, list):
        return set().union(*(_strings(value) for value in node))
    return {str(node)}


TRADE = sorted(_strings({k: v for k, v in vocabulary().items() if k != "prompt"}))
NUMBERS = ["one", "seventy", "two", "hundred", "and a half", "point", "oh", "172", "1 72", "3:30"]
NUMBERS += ["1,250", "3/8", "½", "-5", "2nd", "T30-10", "٣", "²", "9" * 30, "1.2.3", "minus"]
PIECES = st.sampled_from(TRADE + NUMBERS * 4 + [".", ",", "?", "-", "°", "\0", "\u2028"])
NARRATION = st.lists(PIECES | st.text(max_size=6), max_size=25).map(" ".join)


_MOVES = re.compile("splice|slice|run|joint|press")


@settings(max_examples=250, deadline=None)
@given(NARRATION)
def test_written_narration(text: str) -> None:
    text = _MOVES.sub(
        "belt", text
    )  # the number of a splice or run is kept as a place, not as words
    extraction = extract(from_text(text, "a.txt"))
    kept = " ".join(
        [r.evidence.said for r in extraction.readings if r.evidence.source == "spoken"]
        + [note.text for note in extraction.notes]
    )
    for number in re.findall(r"[0-9]{2,}", text):
        assert number in kept


@settings(max_examples=150, deadline=None)
@given(NARRATION, NARRATION, st.floats(0, 1), st.sampled_from(sorted(FIELDS)))
def test_heard_narration_and_answer(
    first: str, second: str, probability: float, field: str
) -> None:
    def words(text: str) -> tuple[Word, ...]:
        return tuple(
            Word(text=w, start_s=1.0, end_s=2.0, probability=probability) for w in text.split()
        )

    heard = Utterance(
        words=words(first),
        others=(Hearing(way="in words", words=words(second)),),
        start_s=1.0,
        end_s=2.0,
    )
    transcript = Transcript(file="a.wav", utterances=(heard, heard))
    readings = extract(transcript).readings
    again = extract(transcript, readings).readings
    for reading in (*readings, *again, *answer(transcript, field, readings).readings):
        assert reading.evidence.source == "spoken"
    if readings:
        answer(transcript, readings[-1], readings)


LONG = 100_000


def long_text(piece: str, length: int = LONG) -> str:
    return (piece * (length // len(piece) + 1))[:length]


def test_a_long_narration_takes_about_a_second() -> None:
    text = long_text(DEMO + "\n")
    extract(from_text(DEMO, "a.txt"))
    transcript = from_text(text, "a.txt")
    # The aim is a second on a quiet machine (0.9 s measured); a busy one may take half more.
    assert usual_s(lambda: find_quantities(text), enough=1.0) <= 1.0
    assert usual_s(lambda: extract(transcript), enough=1.5) <= 1.5


@pytest.mark.parametrize(
    "piece",
    [
        "one ",
        "second splice rejected ",
        "arrived at ten ",
        "belt's polyurethane ",
        "1 ",
        "1-",
        "1/2 ",
        "1",
        "a",
        "°",
        "-",
        "'\"",
        "no ",
        "minus ",
        "point ",
        "hundred and ",
        "1 min ",
        "1 and ",
        "pressure ",
        "pressure 1 ",
        "top 172 bottom 168 ",
        "same top 172 bottom ",
        "sorry 172 ",
        "no bubbles ",
        "splice one ",
        "job number 1 to 2 ",
        "customer Abc ",
        "flarb ",
        ". ",
    ],
)
def test_time_grows_with_length_and_no_faster(piece: str) -> None:
    def took(length: int, enough: float = math.inf) -> float:
        text = long_text(piece, length)
        transcript = from_text(text, "a.txt")
        return cpu_s(lambda: (find_quantities(text), extract(transcript)), enough)

    short = took(LONG // 10)
    limit = 2.5 * 4 * short + 0.2  # four times as long; a square law would take 16 times
    assert took(LONG // 10 * 4, limit) <= limit
