"""What text from outside becomes."""

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from recorder.report.text import UNPRINTABLE, clean


def test_breaks_become_spaces() -> None:
    assert clean(" one\r\n two\tthree\u2028four ") == "one two three four"


def test_controls_become_visible() -> None:
    assert clean("a\x00b\x1bc\x7f") == f"a{UNPRINTABLE}b{UNPRINTABLE}c{UNPRINTABLE}"


def test_a_number_cannot_be_turned_around() -> None:
    assert clean("\u202e271 °C") == f"{UNPRINTABLE}271 °C"


def test_ordinary_text_of_any_script_stays() -> None:
    text = "Bäckerei Łódź, Ω 172 °C ± 0.5, пекарня, مخبز, 麵包店, 👩‍🔧"
    assert clean(text) == text


def test_an_endless_word_can_be_broken() -> None:
    cleaned = clean("x" * 5000)
    assert cleaned.replace("\u200b", "") == "x" * 5000
    assert max(len(piece) for piece in cleaned.split("\u200b")) == 40
    assert clean("a" * 64) == "a" * 64


@given(st.text(st.characters(codec=None)))
def test_nothing_invisible_is_left(text: str) -> None:
    cleaned = clean(text)
    assert not any(unicodedata.category(char) in ("Cc", "Cs") for char in cleaned)
    assert clean(cleaned) == cleaned
    cleaned.encode()
