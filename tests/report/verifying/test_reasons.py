"""Reasons are complete, apart from one another, and cannot be forged by what a file holds."""

import string

import pytest

from recorder.report.verifying.reasons import DOUBTS, WORDS, Doubt, Fault, Finding, in_order, plain


@pytest.mark.parametrize(("kinds", "words"), [(Fault, WORDS), (Doubt, DOUBTS)])
def test_every_reason_has_words_of_its_own(kinds: type, words: dict[object, str]) -> None:
    assert set(kinds) == words.keys()
    assert len(set(words.values())) == len(words)
    names = {name for text in words.values() for _, name, _, _ in string.Formatter().parse(text)}
    assert names <= {"detail", None}


@pytest.mark.parametrize(
    "hostile",
    ["a\nreport  good", "a\x1b[2J", "a\rb", "a\u202eb", "a\u2066b", "a\x00b", "a\u2028b"],
)
def test_a_name_cannot_pass_for_a_line_of_the_program(hostile: str) -> None:
    assert plain(hostile).isprintable()
    assert Finding.of(Fault.STRANGER, hostile).words.isprintable()
    assert plain("Jörn Gärtner, 株式会社") == "Jörn Gärtner, 株式会社"


def test_what_tells_most_comes_first_and_once() -> None:
    vague, precise = Finding.of(Fault.BYTES_CHANGED), Finding.of(Fault.SIGNATURE_EMPTIED)
    assert in_order([vague, precise, vague]) == (precise, vague)
