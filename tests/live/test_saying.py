"""What the recorder says: numbers, values and sentences, in each language that it speaks."""

from __future__ import annotations

import ast
import functools
import string
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import recorder.live
from recorder.live.needs import NEEDS
from recorder.live.saying import sentences
from recorder.live.saying.numbers import integer, number
from recorder.live.saying.values import (
    duration,
    quantity,
    spelled,
    two_values,
    value,
    value_of,
    with_unit,
)
from recorder.live.saying.words import tables_of
from recorder.model.fields import FIELDS
from recorder.model.measurement import LIMITED_AS, Decision, FlagKind
from recorder.model.quantity import Quantity
from recorder.model.reading import Reading, Spoken, Standing
from recorder.model.stages import Stage
from recorder.model.units import UNITS, units_of
from recorder.notes.languages import vocabulary_of
from recorder.notes.numbers.numbers import number_at
from recorder.notes.requests.request import Timer
from recorder.notes.words.lexer import tokens_of
from recorder.notes.words.speaking import Vocabulary, speaking

LANGUAGES = ("en", "de")
LIGHT = settings(max_examples=100, deadline=None, derandomize=True)


@contextmanager
def spoken_in(language: str) -> Iterator[None]:
    with speaking(_vocabulary(language)):
        yield


@functools.cache
def _vocabulary(language: str) -> Vocabulary:
    return vocabulary_of(language)


def reading(field: str, held: bool | float | str, **more: object) -> Reading:
    values = {"standing": Standing.CLEAR, "evidence": Spoken(file="a", said="…"), **more}
    return Reading.model_validate(
        {"field": field, "value": held, "unit": FIELDS[field].unit, **values}
    )


@pytest.mark.parametrize(
    ("told", "en", "de"),
    [
        (0, "zero", "null"),
        (7, "seven", "sieben"),
        (21, "twenty-one", "einundzwanzig"),
        (40, "forty", "vierzig"),
        (100, "one hundred", "einhundert"),
        (105, "one oh five", "einhundertfünf"),
        (172, "one seventy-two", "einhundertzweiundsiebzig"),
        (650, "six fifty", "sechshundertfünfzig"),
        (1000, "one thousand", "eintausend"),
        (1250, "one thousand two hundred fifty", "eintausendzweihundertfünfzig"),
        (21_001, "twenty-one thousand one", "einundzwanzigtausendeins"),
        (2.2, "two point two", "zwei Komma zwei"),
        (0.42, "zero point four two", "null Komma vier zwei"),
        (-1.5, "minus one point five", "minus eins Komma fünf"),
        (-0.00001, "zero", "null"),
        (2_300_000, "two three zero zero zero zero zero", "zwei drei null null null null null"),
    ],
)
def test_numbers(told: float, en: str, de: str) -> None:
    assert number(told) == en
    with spoken_in("de"):
        assert number(told) == de


@pytest.mark.parametrize("language", LANGUAGES)
@LIGHT
@given(whole=st.integers(0, 999_999), decimals=st.integers(0, 99))
def test_what_is_spoken_is_understood_as_the_same_number(
    language: str, whole: int, decimals: int
) -> None:
    told = whole + decimals / 100
    with spoken_in(language):
        tokens = tokens_of(number(told))
        found = number_at(tokens, 0)
    assert found is not None
    assert found.end == len(tokens)
    assert found.value == pytest.approx(told, abs=1e-9)


@pytest.mark.parametrize(
    ("seconds", "en", "de"),
    [
        (240, "four minutes", "vier Minuten"),
        (60, "one minute", "eine Minute"),
        (90, "one minute thirty", "eine Minute dreißig"),
        (45, "forty-five seconds", "fünfundvierzig Sekunden"),
        (1, "one second", "eine Sekunde"),
        (0, "zero seconds", "null Sekunden"),
        (680, "eleven minutes twenty", "elf Minuten zwanzig"),
        (6000, "one hour forty minutes", "eine Stunde vierzig Minuten"),
        (7205, "two hours five seconds", "zwei Stunden fünf Sekunden"),
    ],
)
def test_times(seconds: float, en: str, de: str) -> None:
    assert duration(seconds) == en
    with spoken_in("de"):
        assert duration(seconds) == de


@pytest.mark.parametrize(
    ("said", "en"),
    [
        (Quantity(value=172, unit="degC"), "one seventy-two"),
        (Quantity(value=350, unit="degF"), "three fifty Fahrenheit"),
        (Quantity(value=2.2, unit="bar"), "two point two bar"),
        (Quantity(value=29, unit="psi"), "twenty-nine p s i"),
        (Quantity(value=0.42, unit="mm"), "zero point four two millimetres"),
        (Quantity(value=1, unit="mm"), "one millimetre"),
        (Quantity(value=3.5, unit="inch"), "three point five inches"),
        (Quantity(value=4.5, unit="min"), "four minutes thirty"),
    ],
)
def test_quantities_in_their_own_unit(said: Quantity, en: str) -> None:
    assert quantity(said) == en


@pytest.mark.parametrize(
    ("text", "en"),
    [
        ("Q-2381", "Q two three eight one"),
        ("Q2381", "Q two three eight one"),
        ("2026-114", "two zero two six one one four"),
        ("LB 07", "L B zero seven"),
        ("Oak 12", "Oak one two"),
    ],
)
def test_job_numbers_digit_by_digit(text: str, en: str) -> None:
    assert spelled(text) == en
    assert value_of("job_number", text) == en


def test_a_value_is_read_back_in_the_unit_in_which_it_was_said() -> None:
    fahrenheit = Quantity(value=350, unit="degF")
    told = reading("top_temperature", fahrenheit.to("degC").value, as_said=fahrenheit)
    assert sentences.told(told) == "Top three fifty Fahrenheit."
    assert sentences.told(reading("top_temperature", 172.0)) == "Top one seventy-two."


def test_two_values_that_differ_in_their_unit_alone_are_said_with_it() -> None:
    fahrenheit = Quantity(value=350, unit="degF")
    told = reading(
        "top_temperature", fahrenheit.to("degC").value, as_said=fahrenheit, candidates=(350.0,)
    )
    assert two_values(told) == ("three fifty Fahrenheit", "six sixty-two Fahrenheit")
    other = told.model_copy(update={"candidates": (175.3,)})
    assert two_values(other) == ("three fifty Fahrenheit", "one seventy-five point three Celsius")


def test_one_value_is_no_choice() -> None:
    assert two_values(reading("pressure", 2.0)) is None
    assert two_values(reading("pressure", 2.0, candidates=(2.0,))) is None


@pytest.mark.parametrize(
    ("told", "en", "de"),
    [
        (reading("bubbles", False), "No bubbles.", "Keine Blasen."),
        (reading("isolation_confirmed", True), "Isolation confirmed.", "Freischaltung bestätigt."),
        (reading("outcome", "rework"), "Outcome rework.", "Ergebnis Nacharbeit."),
        (
            reading("arrived_at", "2026-11-26T08:05:00+01:00"),
            "Arrived eight oh five.",
            "Ankunft acht Uhr fünf.",
        ),
        (
            reading("left_at", "2026-11-26T16:00:00+01:00"),
            "Left sixteen o'clock.",
            "Abfahrt sechzehn Uhr.",
        ),
        (
            reading("recommendation", "check the scraper at the head drum next week, please"),
            "Recommendation noted.",
            "Empfehlung notiert.",
        ),
    ],
)  # fmt: skip
def test_sentences(told: Reading, en: str, de: str) -> None:
    assert sentences.told(told) == en
    with spoken_in("de"):
        assert sentences.told(told) == de


def test_what_is_not_confirmed_is_said_so() -> None:
    told = reading("pressure", 2.0, standing=Standing.DOUBTFUL)
    assert sentences.as_it_stands(told) == "Pressure two bar, not confirmed."
    long = reading("materials", "a " * 20, standing=Standing.DOUBTFUL)
    assert sentences.as_it_stands(long) == "Materials, not confirmed."


def test_a_long_list_is_cut_into_parts_of_a_dozen_words() -> None:
    told = ["Pressure two bar."] * 9
    parts = sentences.in_parts(told)
    assert all(len(part.split()) <= 12 for part in parts)
    assert " ".join(parts) == " ".join(told)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_field_every_unit_and_every_choice_can_be_spoken(language: str) -> None:
    tables = tables_of(language)
    assert list(tables["names"]) == list(FIELDS)
    assert {choice for row in FIELDS.values() for choice in row.choices} == set(tables["choices"])
    dimensions = {UNITS[row.unit].dimension for row in FIELDS.values() if row.unit}
    with spoken_in(language):
        for dimension in dimensions:
            for unit in units_of(dimension)[:6]:
                assert with_unit(Quantity(value=2, unit=unit))
    assert set(tables["measured"]) == {*LIMITED_AS.values()}
    assert set(tables["decisions"]) == set(Decision)
    assert set(tables["timers"]) == set(Timer)
    assert set(tables["stages"]) == set(Stage)
    assert set(tables["flagged"]) == set(FlagKind)


def names_in(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def test_both_languages_have_the_same_sentences_with_the_same_places() -> None:
    english, german = (tables_of(language) for language in LANGUAGES)
    for table in english.keys() | german.keys():
        assert english[table].keys() == german[table].keys(), table
    for name, text in english["sentences"].items():
        if name != "photo_refused":  # its remedy is English, and stands on the page
            assert names_in(text) == names_in(german["sentences"][name]), name


def test_every_sentence_is_used_and_every_used_one_exists() -> None:
    """By the calls of ``sentence`` with a plain name, and the tables that name one."""
    used = set()
    for path in Path(recorder.live.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                used.add(node.value)
    have = set(tables_of("en")["sentences"])
    assert have <= used, have - used


def test_questions_are_short() -> None:
    for language in LANGUAGES:
        with spoken_in(language):
            for name in FIELDS:
                assert len(sentences.open_question(name).split()) <= 9
    assert all(need.field in FIELDS for need in NEEDS)


def test_integers_of_a_year() -> None:
    assert integer(2026) == "two thousand twenty-six"


def test_a_converted_value_is_said_with_four_figures() -> None:
    assert value_of("top_temperature", 400 / 3) == "one thirty-three point three"
    assert value_of("tension_mark_before", 12345.0) == (
        "twelve thousand three hundred forty-five millimetres"
    )
    assert value_of("finger_gap", 0.42) == "zero point four two millimetres"


def test_a_value_of_words_is_said_as_it_is() -> None:
    assert value(reading("customer", "Larkfield Bakery")) == "Larkfield Bakery"
