import pytest

from recorder.archive.finding.folding import fold, tokens
from recorder.archive.finding.words import NOTHING, occurs, query, typed
from recorder.archive.index.text import Phrase


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("Förderband  CV-120A", ("forderband", "cv", "120a")),
        ("GRÜẞT grüßt", ("grußt", "grußt")),
        ("u\u0308ber e\u0301", ("uber", "e")),
        ("145.5 o'brien ST1000/5", ("145", "5", "o", "brien", "st1000", "5")),
        ("東京 \ue000 x_y", ("東京", "\ue000", "x", "y")),
        ("İzmir", ("izmir",)),
        ("… – \0 \ud800", ()),
    ],
)
def test_text_is_taken_apart_as_the_index_does(text: str, seen: tuple[str, ...]) -> None:
    assert tokens(text) == seen


def test_only_latin_letters_lose_what_stands_above_them() -> None:
    assert fold("Ångström ČÉÑ") == "angstrom cen"
    assert fold("がす Йод") == "がす йод"


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("", ()),
        (" \t", ()),
        ("*", NOTHING),
        ('"" & "-"', NOTHING),
        ("lark", ((Phrase("lark", True),),)),
        ("ha pack", ((Phrase("ha"),), (Phrase("pack", True),))),
        ("pack ha", ((Phrase("pack", True),), (Phrase("ha", True),))),
        ("lark lark", ((Phrase("lark", True),),)),
        ('"left hose" lark', ((Phrase("left hose"),), (Phrase("lark", True),))),
        ('lark "left hose"', ((Phrase("lark", True),), (Phrase("left hose"),))),
        ('5" belt"', ((Phrase('5"'),), (Phrase('belt"', True),))),
        ('"left hose', ((Phrase('"left', True),), (Phrase("hose", True),))),
        ('o"b "c', ((Phrase('o"b'),), (Phrase('"c', True),))),
        ("a\0b", ((Phrase("a"),), (Phrase("b", True),))),
        ("\ud800x", ((Phrase("?x", True),),)),
    ],
)
def test_words_become_phrases(words: str, wanted: object) -> None:
    assert query(words) == wanted


def test_the_last_word_may_not_be_finished() -> None:
    assert [word.last for word in typed("belt of ha")] == [False, False, True]


@pytest.mark.parametrize(
    ("phrase", "text", "there"),
    [
        (Phrase("left hose"), "at the left hose it", True),
        (Phrase("left hose"), "at the left air hose", False),
        (Phrase("left ho"), "the left hose", False),
        (Phrase("left ho", True), "the left hose", True),
        (Phrase("le hose", True), "the left hose", False),
        (Phrase("CV-120"), "cv 120 a", True),
        (Phrase("hose hose"), "hose", False),
        (Phrase("-"), "hose", False),
    ],
)
def test_where_a_phrase_stands(phrase: Phrase, text: str, there: bool) -> None:
    assert occurs(phrase, text.split()) is there
