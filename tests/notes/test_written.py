from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.notes.written import from_text


@pytest.mark.parametrize(
    ("text", "sentences"),
    [
        ("Pressure 2.25 bar. Dwell 3 min.", ["Pressure 2.25 bar.", "Dwell 3 min."]),
        ("Pressure approx. 2 bar. Good.", ["Pressure approx. 2 bar.", "Good."]),
        ("one line\n\nanother line", ["one line", "another line"]),
        ("Dwell 3 min. Then we waited.", ["Dwell 3 min.", "Then we waited."]),
        ("Job no. 4817 for us!  Ready?  Yes", ["Job no. 4817 for us!", "Ready?", "Yes"]),
        ("   \n  ", []),
    ],
)
def test_sentences(text: str, sentences: list[str]) -> None:
    transcript = from_text(text, "a.txt")
    assert transcript.file == "a.txt"
    assert [utterance.text for utterance in transcript.utterances] == sentences


def test_written_words_have_no_times() -> None:
    (utterance,) = from_text("two bar", "a.txt").utterances
    assert {(w.start_s, w.end_s, w.probability) for w in utterance.words} == {(None, None, None)}


@given(st.text(max_size=200))
def test_no_word_is_lost(text: str) -> None:
    words = [word.text for u in from_text(text, "a.txt").utterances for word in u.words]
    assert words == text.split()
