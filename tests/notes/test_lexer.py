from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.notes.words.lexer import Sort, tokens_of


@pytest.mark.parametrize(
    ("text", "sort"),
    [
        ("platen", Sort.WORD),
        ("it's", Sort.WORD),
        ("172", Sort.NUMBER),
        ("1,250.5", Sort.NUMBER),
        ("2nd", Sort.ORDINAL),
        ("3/8", Sort.FRACTION),
        ("½", Sort.FRACTION),
        ("3:30", Sort.CLOCK),
        ("T30-10", Sort.CODE),
        ("P2", Sort.CODE),
        ("2026-11-25", Sort.CODE),
        ("2026-11-25T08:10+01:00", Sort.CODE),
        ("25.11.2026", Sort.CODE),
        ("9" * 30, Sort.CODE),
        ("°", Sort.SIGN),
    ],
)
def test_sort(text: str, sort: Sort) -> None:
    assert [(token.raw, token.sort) for token in tokens_of(text)] == [(text, sort)]


def test_unit_glued_to_its_number() -> None:
    assert [token.raw for token in tokens_of("172°C, 32psi.")] == [
        "172",
        "°",
        "C",
        ",",
        "32",
        "psi",
        ".",
    ]


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=80))
def test_tokens_lie_where_they_say_and_only_blanks_between(text: str) -> None:
    end = 0
    for token in tokens_of(text):
        assert text[token.start : token.end] == token.raw
        assert text[end : token.start].strip() == ""
        end = token.end
    assert text[end:].strip() == ""
