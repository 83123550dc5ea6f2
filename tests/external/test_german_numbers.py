"""German numbers against two independent others.

num2words (https://pypi.org/project/num2words) spells, text2num (https://pypi.org/project/text2num;
sentences of its README) reads.

Everything that the one spells must be read back as the same value; of the sentences in the other's
documentation both must read the same numbers.
"""

from __future__ import annotations

import re

import pytest
from num2words import num2words
from text_to_num import alpha2digit, text2num

from recorder.notes.languages import vocabulary_of
from recorder.notes.numbers.numbers import number_at
from recorder.notes.words.lexer import Sort, tokens_of
from recorder.notes.words.speaking import speaking

GERMAN = vocabulary_of("de")


def value_of(text: str) -> float | None:
    """The number at the start of the text when it takes all of it."""
    with speaking(GERMAN):
        tokens = tokens_of(text)
        number = number_at(tokens, 0)
    return number.value if number and number.end == len(tokens) else None


def misread(spelled: dict[str, float]) -> dict[str, float | None]:
    read = {text: value_of(text) for text in spelled}
    return {text: value for text, value in read.items() if value != spelled[text]}


def test_zero_to_9999() -> None:
    spelled = {num2words(n, lang="de"): float(n) for n in range(10_000)}
    assert len(spelled) == 10_000
    assert misread(spelled) == {}


def test_without_umlauts_and_sharp_s() -> None:
    ascii_ = str.maketrans({"ü": "ue", "ö": "oe", "ß": "ss"})
    spelled = {num2words(n, lang="de").translate(ascii_): float(n) for n in range(10_000)}
    assert misread(spelled) == {}


def test_parted_after_the_hundreds() -> None:
    """Recognisers part long words: "einhundert fünfundsiebzig"."""
    spelled = {
        re.sub("(hundert|tausend)(?=.)", r"\1 ", num2words(n, lang="de")): float(n)
        for n in range(100, 10_000)
    }
    assert misread(spelled) == {}


def test_wholly_parted() -> None:
    """As in "ein hundert fünf und siebzig"."""
    spelled = {}
    for n in range(21, 10_000):
        parted = re.sub("(hundert|tausend)", r" \1 ", num2words(n, lang="de"))
        parted = re.sub("(?<=[a-zäöüß])und(?=[a-zß]+zig|dreißig)", " und ", parted)
        spelled[" ".join(parted.split())] = float(n)
    assert misread(spelled) == {}


def test_without_the_leading_one() -> None:
    """As in "hundertfünfundsiebzig", "tausendzweihundert"."""
    spelled = {
        re.sub("^ein(?=hundert|tausend)", "", num2words(n, lang="de")): float(n)
        for n in [*range(100, 200), *range(1000, 2000)]
    }
    assert misread(spelled) == {}


def test_hundreds_above_a_thousand() -> None:
    """As in "elfhundert", "zwölfhundertfünfzig"."""
    spelled = {}
    for n in range(1100, 10_000):
        if n // 100 % 10:
            tail = num2words(n % 100, lang="de") if n % 100 else ""
            spelled[num2words(n // 100, lang="de") + "hundert" + tail] = float(n)
    assert misread(spelled) == {}


def test_large_numbers() -> None:
    numbers = [10_000, 12_500, 99_999, 100_000, 250_000, 999_999, 2_500_000, 51_578_302]
    spelled = {num2words(n, lang="de").replace(" Millionen ", "millionen"): n for n in numbers}
    assert misread({text: float(n) for text, n in spelled.items()}) == {}


def test_decimals() -> None:
    spelled = {num2words(n / 100, lang="de"): n / 100 for n in range(1, 40_000, 7) if n % 100}
    spelled |= {num2words(n / 1000, lang="de"): n / 1000 for n in range(1, 3_000, 7) if n % 1000}
    assert misread(spelled) == {}


def test_negatives() -> None:
    spelled = {num2words(-n, lang="de"): float(-n) for n in range(1, 2_000)}
    # From -1.1 on: num2words loses the sign of -0.8.
    spelled |= {num2words(-n / 10, lang="de"): -n / 10 for n in range(11, 500) if n % 10}
    assert misread(spelled) == {}


def test_digit_by_digit() -> None:
    spelled = {}
    for n in range(10, 10_000):
        digits = [num2words(int(digit), lang="de") for digit in str(n)]
        spelled[" ".join(digits)] = float(n)
        spelled[" ".join(digits).replace("zwei", "zwo")] = float(n)
    assert misread(spelled) == {}


def test_ordinals() -> None:
    for n in range(1, 100):
        for ending in ("", "n", "r", "s"):
            with speaking(GERMAN):
                (token,) = tokens_of(num2words(n, lang="de", to="ordinal") + ending)
            assert (token.sort, token.value) == (Sort.ORDINAL, float(n)), token


def test_written_as_germans_write() -> None:
    for n in range(0, 2_000_000, 977):
        grouped = f"{n:,}".replace(",", ".")
        assert value_of(grouped) == float(n)
        assert value_of(f"{grouped},25") == n + 0.25
        assert value_of(str(n)) == float(n)


def test_text2num_reads_the_same() -> None:
    for n in range(10_000):
        spelled = num2words(n, lang="de")
        assert value_of(spelled) == text2num(spelled, "de")


@pytest.mark.parametrize(
    "text",
    [
        "einundfünfzigmillionenfünfhundertachtundsiebzigtausenddreihundertzwei",
        "ein und achtzig",
    ],
)
def test_numbers_in_the_documentation_of_text2num(text: str) -> None:
    assert value_of(text) == text2num(text, "de")


@pytest.mark.parametrize(
    "text",
    [
        "Ich habe fünfundzwanzig Kühe, zwölf Hühner und einhundertfünfundzwanzig kg Kartoffeln "
        "gekauft.",
        "Die Telefonnummer lautet dreiunddreißig neun sechzig null sechs zwölf einundzwanzig.",
        "Der zweiundzwanzigste Januar zweitausendzweiundzwanzig.",
        "Es ist ein Buch mit dreitausend Seiten aber nicht das erste.",
        "Pi ist drei Komma eins vier und so weiter",
    ],
)
def test_sentences_in_the_documentation_of_text2num(text: str) -> None:
    """The digits are the same. "Ein Buch" is an article to us, and so it is left out of both."""
    with speaking(GERMAN):
        ours = [t.text for t in tokens_of(text) if t.sort in (Sort.NUMBER, Sort.ORDINAL)]
    theirs = alpha2digit(text, "de", threshold=0).replace("ist 1 Buch", "ist ein Buch")
    assert re.findall("[0-9]", "".join(ours)) == re.findall("[0-9]", theirs)
