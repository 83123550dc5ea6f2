"""Contrast of what the pages are written in, by the formula of WCAG 2.2, light and dark.

https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio; 1.4.3 wants 4.5 for text, 1.4.6 (AAA) 7, and
1.4.11 wants 3 for the edges of what can be used. The formula is checked with the extremes and with
a pair of https://www.w3.org/WAI/WCAG22/Techniques/general/G18: '#777777' on white has 4.48.
"""

import re
from pathlib import Path

import pytest

STYLE = Path(__file__).parents[2] / "recorder" / "web" / "static" / "look.css"
TOKENS = re.findall(r":root \{(.*?)\}", STYLE.read_text(encoding="utf-8"), re.DOTALL)
LIGHT = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", TOKENS[0]))
DARK = LIGHT | dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", TOKENS[1]))

# Ink, ground, and how much there must be.
VALUES = (("ink", "paper"), ("ink", "sheet"), ("ink", "tint"), ("ink", "wait-tint"))
WORDS = (
    ("soft", "paper"), ("soft", "sheet"), ("soft", "wait-tint"), ("soft", "tint"),
    ("own", "paper"), ("own", "sheet"), ("own", "tint"), ("on-own", "own"),
    ("on-own", "own-press"), ("wait", "paper"), ("wait", "sheet"), ("wait", "wait-tint"),
    ("bad", "paper"), ("bad", "sheet"), ("bad", "bad-tint"), ("sheet", "bad"), ("paper", "wait"),
    ("good", "paper"), ("good", "sheet"), ("good", "tint"),
)  # fmt: skip
EDGES = (("edge", "paper"), ("edge", "sheet"), ("focus", "paper"), ("focus", "focus-ring"))


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_is_that_of_the_standard() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize(
    ("pairs", "least"),
    [(VALUES, 7.0), (WORDS, 4.5), (EDGES, 3.0)],
    ids=["values", "words", "edges"],
)
def test_what_is_written_can_be_read(
    scheme: dict[str, str], pairs: tuple[tuple[str, str], ...], least: float
) -> None:
    found = {pair: round(contrast(scheme[pair[0]], scheme[pair[1]]), 2) for pair in pairs}
    assert not {pair: ratio for pair, ratio in found.items() if ratio < least}


def test_dark_is_another_scheme_than_light() -> None:
    assert all(DARK[name] != LIGHT[name] for name in ("paper", "sheet", "ink", "own", "wait"))
