"""Number words against num2words (https://pypi.org/project/num2words), an independent speller.

Everything that it spells must be read back as the same value.
"""

from __future__ import annotations

import pytest
from num2words import num2words

from recorder.notes.numbers.numbers import number_at
from recorder.notes.quantities import find_quantities
from recorder.notes.words.lexer import tokens_of

LANGUAGES = ("en", "en_GB")


def value_of(text: str) -> float | None:
    """The number at the start of the text when it takes all of it."""
    tokens = tokens_of(text)
    number = number_at(tokens, 0)
    return number.value if number and number.end == len(tokens) else None


def misread(spelled: dict[str, float]) -> dict[str, float | None]:
    read = {text: value_of(text) for text in spelled}
    return {text: value for text, value in read.items() if value != spelled[text]}


@pytest.mark.parametrize("language", LANGUAGES)
def test_zero_to_9999(language: str) -> None:
    spelled = {num2words(n, lang=language): float(n) for n in range(10_000)}
    assert len(spelled) == 10_000
    assert misread(spelled) == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_without_hyphens_commas_and_and(language: str) -> None:
    """Recognisers drop them: "one thousand two hundred thirty four"."""
    spelled = {}
    for n in range(10_000):
        words = num2words(n, lang=language).replace("-", " ").replace(",", "")
        spelled[words.replace(" and ", " ")] = float(n)
    assert misread(spelled) == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_large_round_numbers(language: str) -> None:
    numbers = [10_000, 12_500, 99_999, 100_000, 250_000, 999_999, 1_000_000, 2_500_000]
    assert misread({num2words(n, lang=language): float(n) for n in numbers}) == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_decimals(language: str) -> None:
    spelled = {num2words(n / 100, lang=language): n / 100 for n in range(1, 40_000, 7) if n % 100}
    spelled |= {
        num2words(n / 1000, lang=language): n / 1000 for n in range(1, 3_000, 7) if n % 1000
    }
    assert misread(spelled) == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_negatives(language: str) -> None:
    spelled = {num2words(-n, lang=language): float(-n) for n in range(1, 2_000)}
    # From -1.1 on: num2words loses the sign of -0.8.
    spelled |= {num2words(-n / 10, lang=language): -n / 10 for n in range(11, 500) if n % 10}
    assert misread(spelled) == {}


def test_digit_by_digit() -> None:
    """Each digit as num2words spells it: "four eight one seven"; nought may be "oh" inside."""
    spelled = {}
    for n in range(10, 10_000):
        digits = [num2words(int(digit)) for digit in str(n)]
        spelled[" ".join(digits)] = float(n)
        spelled[" ".join("oh" if digit == "zero" else digit for digit in digits)] = float(n)
    assert misread(spelled) == {}


def test_hundreds_above_a_thousand() -> None:
    """As in "seventeen hundred", "seventeen hundred and fifty"."""
    spelled = {}
    for n in range(1100, 10_000):
        if n // 100 % 10:
            head = f"{num2words(n // 100)} hundred"
            spelled[head if n % 100 == 0 else f"{head} and {num2words(n % 100)}"] = float(n)
    assert misread(spelled) == {}


def test_grouped_hundreds() -> None:
    """As in "one seventy five", "one oh five": a digit, then the two that follow."""
    spelled = {}
    for n in range(101, 1000):
        hundreds, rest = divmod(n, 100)
        if rest:
            tail = num2words(rest) if rest >= 10 else f"oh {num2words(rest)}"
            spelled[f"{num2words(hundreds)} {tail}"] = float(n)
    assert misread(spelled) == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_years(language: str) -> None:
    """num2words spells 1066 "ten sixty-six", 1905 "nineteen oh-five", 2005 in full."""
    spelled = {num2words(n, to="year", lang=language): float(n) for n in range(1000, 2100)}
    assert len(spelled) == 1100
    assert misread(spelled) == {}


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_ordinal_is_no_number(language: str) -> None:
    """In "the twenty-first" there is no twenty.

    "Thirty-second" is left out, which is rather thirty seconds, and "one hundredth", a fraction.
    """
    taken = []
    for n in range(1, 10_000):
        text = num2words(n, to="ordinal", lang=language)
        if text.endswith(("second", "one hundredth", "one thousandth")):
            continue
        tokens = tokens_of(text)
        taken += [text for i in range(len(tokens)) if number_at(tokens, i) is not None]
        taken += [text for _ in find_quantities(f"the {text} metre")]
    assert taken == []


def test_in_a_sentence() -> None:
    """The value and the place, in words around it that are no numbers."""
    for n in range(10_000):
        words = num2words(n)
        text = f"it stood at {words} degrees Celsius, then fell"
        (found,) = find_quantities(text)
        assert (found.value, found.unit) == (n, "degC"), text
        assert text[found.start : found.end] == f"{words} degrees Celsius"
