"""A drawing as pixels."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from recorder.report.page.svg import png_of

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20" width="40" height="20">'
BLACK = f'{HEAD}<rect width="40" height="20" fill="#fff"/><rect width="20" height="20"/></svg>'


def test_a_drawing_has_as_many_pixels_across_as_asked_for() -> None:
    with Image.open(io.BytesIO(png_of(BLACK, 200))) as picture:
        assert picture.format == "PNG"
        assert picture.size == (200, 100)
        assert picture.convert("L").getpixel((40, 50)) == 0
        assert picture.convert("L").getpixel((160, 50)) == 255


def test_words_are_set_in_the_typeface_of_the_report() -> None:
    words = f'{HEAD}<text x="2" y="14" font-size="12" FACE>Ill</text></svg>'
    ours, other = (
        png_of(words.replace("FACE", f'font-family="{face}"'), 400)
        for face in ("Seamnote, serif", "monospace")
    )
    assert ours != other


def test_the_same_drawing_gives_the_same_pixels() -> None:
    assert png_of(BLACK, 64) == png_of(BLACK, 64)


def test_a_character_that_no_typeface_has_is_replaced() -> None:
    strange = f'{HEAD}<text x="2" y="14" font-size="12">\U0001f9f5</text></svg>'
    known = f'{HEAD}<text x="2" y="14" font-size="12">□</text></svg>'
    assert png_of(strange, 80) == png_of(known, 80)


@pytest.mark.parametrize(("svg", "wide"), [("<html>", 100), (BLACK, 0), (BLACK, 100_000)])
def test_what_cannot_be_drawn_is_refused(svg: str, wide: int) -> None:
    with pytest.raises(ValueError, match=r"viewBox|across"):
        png_of(svg, wide)
