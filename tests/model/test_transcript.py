"""What stands for an utterance wherever it is shown."""

from __future__ import annotations

from recorder.model.transcript import Hearing, Utterance, Word


def heard(*texts: str) -> tuple[Word, ...]:
    return tuple(Word(text=each, start_s=0.0, end_s=0.1, probability=0.9) for each in texts)


def test_the_first_hearing_that_has_a_word_is_shown() -> None:
    second = Hearing(way="unprompted", words=heard("Template", "T"))
    assert Utterance(words=heard("template"), others=(second,)).text == "template"
    assert Utterance(words=(), others=(second,)).text == "Template T"
    assert Utterance(words=()).text == ""
