"""The data file is whole: every field it names exists, every unit, every phrase can be found."""

from __future__ import annotations

import re

import pytest

from recorder.model.fields import FIELDS, Kind
from recorder.model.units import UNITS
from recorder.notes.fields.mentions import mentions_of
from recorder.notes.words.lexer import tokens_of
from recorder.notes.words.vocabulary import Phrases, hearing_prompt, vocabulary, words


def test_every_named_field_and_choice_is_in_the_catalogue() -> None:
    table = vocabulary()
    for section in ("fields", "flags", "choices", "names"):
        assert set(table[section]) <= set(FIELDS)
    assert all(FIELDS[name].kind is Kind.QUANTITY for name in table["fields"])
    assert all(FIELDS[name].kind is Kind.FLAG for name in table["flags"])
    for name, choices in table["choices"].items():
        assert set(choices) == set(FIELDS[name].choices)
    for name, told in table["told"].items():
        assert set(told) - {"names"} <= set(FIELDS[name].choices)
    assert {f for group in table["groups"] for f in group["fields"]} <= set(FIELDS)
    assert {f for size in table["sizes"].values() for f in size["fields"]} <= set(FIELDS)
    assert {f for pair in table["twofold"].values() for f in pair["fields"]} <= set(FIELDS)
    assert all(FIELDS[name].kind is Kind.TIME for name in table["moments"])
    assert all(FIELDS[name].kind is Kind.TEXT for name in table["free_text"])


@pytest.mark.parametrize(
    "section", ["units", "short_units", "unit_homophones", "other_units", "other_short_units"]
)
def test_every_named_unit_exists(section: str) -> None:
    assert set(vocabulary()[section]) <= set(UNITS)


def test_every_unit_can_be_said() -> None:
    assert set(vocabulary()["units"]) | set(vocabulary()["other_units"]) == set(UNITS)


def _spelt(phrase: str) -> str:
    """The phrase with the first word of each class in the class's place."""
    return re.sub(r"\{(\w+)\??\}", lambda found: words("classes", found[1])[0], phrase)


@pytest.mark.parametrize(
    ("field", "phrase"),
    [
        (name, " ".join([*table.get("of", ())[:1], phrase]) if manner in behind else phrase)
        for behind in [("after", "after_unit")]
        for name, table in vocabulary()["fields"].items()
        for manner in ("words", "weak", "homophones", *behind)
        for phrase in table.get(manner, ())
    ],
)
def test_every_trade_word_is_found(field: str, phrase: str) -> None:
    fields = {
        f for m in mentions_of(tokens_of(_spelt(phrase))) for option in m.options for f in option
    }
    assert field in fields


def test_longest_phrase_wins_and_hyphens_are_blanks() -> None:
    phrases = Phrases([("cool", 1), ("cool down", 2)])
    assert [hit.meanings for hit in phrases.all(tokens_of("cool-down, cool"))] == [(2,), (1,)]


def test_prompt_has_the_names_and_no_digit() -> None:
    prompt = hearing_prompt(["Larkfield Bakery", "Oven outfeed 3", "T30-10", ""])
    assert prompt.startswith("Larkfield Bakery, Oven outfeed.")
    assert "top platen" in prompt
    assert not any(char.isdigit() for char in prompt)
    assert len(prompt.split()) <= 120


def test_prompt_stays_short_with_many_names() -> None:
    assert (
        len(
            hearing_prompt(
                ["Quillback Belt Service"] * 3 + [f"Name {'x' * n}" for n in range(300)]
            ).split()
        )
        <= 120
    )
