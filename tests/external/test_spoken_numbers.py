"""The numbers that the recorder speaks, against num2words (https://pypi.org/project/num2words), an
independent speller.

German is the same word for word, below a hundred thousand (above, num2words says
"einhunderteinstausend", and it drops the sign of -0.5). English says hundreds as a shop floor does
("one seventy-two"), so that only what it has in common is compared: up to ninety-nine, whole
hundreds, and thousands.
"""

from __future__ import annotations

from num2words import num2words

from recorder.live.saying.numbers import integer, number
from recorder.notes.languages import vocabulary_of
from recorder.notes.words.speaking import speaking

PLAIN = [*range(100), *range(100, 1000, 100), *range(1000, 20_000, 7)]


def test_german_word_for_word() -> None:
    numbers = [*range(2000), *range(2000, 100_000, 97)]
    with speaking(vocabulary_of("de")):
        spoken = {n: integer(n) for n in numbers}
    assert spoken == {n: num2words(n, lang="de") for n in numbers}


def test_german_decimals() -> None:
    tenths = [n / 10 for n in range(500)]
    with speaking(vocabulary_of("de")):
        spoken = {n: number(n) for n in tenths}
    spelled = {n: num2words(n if n % 1 else int(n), lang="de") for n in tenths}
    assert spoken == spelled


def test_english_where_both_speak_alike() -> None:
    spoken = {n: integer(n) for n in PLAIN}
    spelled = {n: num2words(n).replace(" and ", " ").replace(",", "") for n in PLAIN}
    assert spoken == spelled
