"""What text from outside becomes."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recorder.report.content.text import _SEEN, UNPRINTABLE, clean


def test_breaks_become_spaces() -> None:
    assert clean(" one\r\n two\tthree\u2028four ") == "one two three four"


def test_controls_become_visible() -> None:
    assert clean("a\x00b\x1bc\x7f") == f"a{UNPRINTABLE}b{UNPRINTABLE}c{UNPRINTABLE}"


def test_a_number_cannot_be_turned_around() -> None:
    assert clean("\u202e271 °C") == f"{UNPRINTABLE}271 °C"


@pytest.mark.parametrize(
    "code",
    [0x00AD, 0x034F, 0x180E, 0x200B, 0x2060, 0x2063, 0x3164, 0xFEFF, 0xFFA0, 0xE0031, 0xE0001],
)
def test_what_has_no_shape_is_left_out(code: int) -> None:
    assert clean(f"17{chr(code)}2 °C") == "172 °C"
    assert clean(chr(code) * 5000) == ""


@pytest.mark.parametrize("joiner", ["\u200c", "\u200d"])
def test_joiners_stay_only_where_they_join(joiner: str) -> None:
    assert clean(f"1{joiner}72") == "172"
    assert clean(f"{joiner}oven{joiner}{joiner}") == "oven"
    assert clean(f"نمی{joiner}خواهم") == f"نمی{joiner}خواهم"
    assert clean(f"क्{joiner}ष") == f"क्{joiner}ष"


def test_ordinary_text_of_any_script_stays() -> None:
    text = "Bäckerei Łódź, Ω 172 °C ± 0.5, пекарня, مخبز, 麵包店, 👩‍🔧 ⚙️, نمی‌خواهم, ؁ 12"
    assert clean(text) == text


def test_an_endless_word_can_be_broken() -> None:
    cleaned = clean("x" * 5000)
    assert cleaned.replace("\u200b", "") == "x" * 5000
    assert max(len(piece) for piece in cleaned.split("\u200b")) == 40
    assert clean("a" * 64) == "a" * 64


@given(st.text(st.characters(codec=None)))
def test_nothing_invisible_is_left(text: str) -> None:
    cleaned = clean(text)
    allowed = set("\u200b\u200c\u200d") | _SEEN
    hidden = {char for char in cleaned if unicodedata.category(char) in ("Cc", "Cs", "Cf")}
    assert hidden <= allowed
    assert clean(cleaned) == cleaned
    cleaned.encode()
