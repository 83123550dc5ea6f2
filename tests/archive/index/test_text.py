"""What every text index must do, over FTS5 and over plain Python, and both against each other."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from recorder.archive.index.database import SCRATCH, Database
from recorder.archive.index.fts5 import Fts5
from recorder.archive.index.schema import JOBS, TERMS
from recorder.archive.index.tables import Tables
from recorder.archive.index.text import CLOSE, OPEN, Phrase, Query, TextIndex
from tests.archive.index.naive_text import NaiveText

PRESS = ["Press hisses at the left hose", "new gasket fitted, twice a gasket", "CV-120A"]
OVEN = ["Öven outfeed; gaskets worn", "hose", "145.5 hours on ST1000/5, o'brien"]
SHORT = ["new gasket"]


class Library:
    """A text index with the jobs whose texts it holds."""

    def __init__(self, path: Path, naive: bool) -> None:
        self.database = Database(path, SCRATCH)
        Tables(self.database).make()
        self.texts: TextIndex = NaiveText() if naive else Fts5(self.database)

    def put(self, key: int, lines: list[str]) -> None:
        row = (key, f"job {key}", "", "", None, None, 1, "{}", "")
        self.database.fill(JOBS, [row])
        self.texts.put(key, lines)
        known = {term for (term,) in self.database.rows(select(TERMS.c.term))}
        new = {term for term, _ in self.texts.all_words()} - known
        self.database.fill(TERMS, [(term, 1) for term in new])

    def remove(self, key: int) -> None:
        self.database.rows("DELETE FROM jobs WHERE key = ?", (key,))
        self.texts.remove(key)

    def keys(self, query: Query, scored: bool = False) -> list[int]:
        found = self.texts.matching(query, scored)
        return [
            row[0]
            for row in self.database.rows(
                select(found.key).where(found.condition).order_by(found.key.desc())
            )
        ]

    def best(self, query: Query) -> list[int]:
        found = self.texts.matching(query, scored=True)
        chosen = select(found.key).where(found.condition).order_by(found.score)
        return [row[0] for row in self.database.rows(chosen)]


@pytest.fixture(params=["fts5", "naive"])
def library(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Library]:
    library = Library(tmp_path / "texts.sqlite", request.param == "naive")
    for key, lines in ((7, PRESS), (-3, OVEN), (2**62, SHORT)):
        library.put(key, lines)
    yield library
    library.database.close()


def all_of(*words: str, prefix: bool = False) -> Query:
    return tuple((Phrase(word, prefix),) for word in words)


@pytest.mark.parametrize(
    ("query", "keys"),
    [
        (all_of("gasket"), [2**62, 7]),
        (all_of("gasket", prefix=True), [2**62, 7, -3]),
        (all_of("ga", prefix=True), [2**62, 7, -3]),
        (all_of("g", prefix=True), [2**62, 7, -3]),
        (all_of("gask"), []),
        (all_of("GASKET", "hose"), [7]),
        (all_of("oven"), [-3]),
        (all_of("ÖVEN"), [-3]),
        (all_of("left hose"), [7]),
        (all_of("left ho", prefix=True), [7]),
        (all_of("hose left"), []),
        (all_of("hose new"), []),  # not over the end of a line
        (all_of("145.5"), [-3]),
        (all_of("o'brien", "ST1000/5"), [-3]),
        (all_of("cv-12", prefix=True), [7]),
        (((Phrase("oven"), Phrase("left hose")),), [7, -3]),
        (((Phrase("oven"), Phrase("left hose")), (Phrase("145"),)), [-3]),
        (all_of("nothing", "hose"), []),
        (all_of('hose" OR "gasket'), []),
        (all_of("hose OR gasket"), []),
    ],
)
@pytest.mark.parametrize("scored", [False, True])
def test_what_is_found(library: Library, query: Query, keys: list[int], scored: bool) -> None:
    assert library.keys(query, scored) == keys


def test_the_better_answer_comes_first(library: Library) -> None:
    library.put(9, ["gasket gasket gasket gasket"])
    library.put(10, ["gasket and much else that has nothing to do with it at all in this text"])
    found = library.best(all_of("gasket"))
    assert found[0] == 9
    assert set(found) == {9, 10, 7, 2**62}


def test_matches_are_marked(library: Library) -> None:
    found = library.texts.highlighted(all_of("gasket", "new"), [7, -3, 2**62, 11])
    assert found.keys() == {7, 2**62}
    assert found[2**62] == [f"{OPEN}new{CLOSE} {OPEN}gasket{CLOSE}"]
    assert found[7][0] == PRESS[0]
    assert found[7][1].count(f"{OPEN}gasket{CLOSE}") == 2
    assert library.texts.highlighted(all_of("left hose"), [7])[7][0].endswith(
        f"{OPEN}left hose{CLOSE}"
    )
    assert library.texts.highlighted(all_of("gasket"), []) == {}


def test_the_marked_text_comes_with_the_key(library: Library) -> None:
    query = all_of("gasket", "new")
    matching = library.texts.matching(query)
    rows = library.database.rows(select(matching.key, matching.marked).where(matching.condition))
    found = {key: library.texts.apart(text) for key, text in rows}
    assert found == library.texts.highlighted(query, [7, -3, 2**62])


def test_what_was_put_is_told(library: Library) -> None:
    assert library.texts.lines(7) == PRESS
    library.put(8, [])
    assert library.texts.lines(8) == library.texts.lines(11) == []
    assert library.texts.words(["Öven, CV-120A", "öven"]) == {"oven", "cv", "120a"}
    assert library.texts.words([]) == set()
    words = dict(library.texts.all_words())
    assert words["gasket"] == 2
    assert words["oven"] == 1
    library.texts.check()


def test_what_was_removed_is_gone(library: Library) -> None:
    library.remove(7)
    library.texts.scrub()
    assert library.keys(all_of("gasket")) == [2**62]
    assert library.texts.lines(7) == []
    assert "press" not in dict(library.texts.all_words())
    library.texts.check()


TEXT = st.text("abAB1 .-'éÄ", max_size=12)
WORD = st.text("abAB1éÄ", min_size=1, max_size=3)
PHRASE = st.builds(Phrase, st.lists(WORD, min_size=1, max_size=2).map(" ".join), st.booleans())
QUERY = st.lists(st.lists(PHRASE, min_size=1, max_size=2).map(tuple), min_size=1, max_size=2)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    texts=st.lists(st.lists(TEXT, min_size=1, max_size=3), min_size=1, max_size=4),
    queries=st.lists(QUERY.map(tuple), min_size=1, max_size=8),
)
def test_fts5_finds_and_marks_what_plain_python_does(
    tmp_path_factory: pytest.TempPathFactory, texts: list[list[str]], queries: list[Query]
) -> None:
    folder = tmp_path_factory.mktemp("texts")
    by_fts5, by_us = (Library(folder / f"{naive}.sqlite", naive) for naive in (False, True))
    for library in (by_fts5, by_us):
        for key, lines in enumerate(texts):
            library.put(key, lines)
        library.remove(0)
    keys = range(len(texts))
    assert dict(by_fts5.texts.all_words()) == dict(by_us.texts.all_words())
    for query in queries:
        assert by_fts5.keys(query) == by_fts5.keys(query, scored=True) == by_us.keys(query)
        shown, expected = (each.texts.highlighted(query, keys) for each in (by_fts5, by_us))
        assert _covered(shown) == _covered(expected)
    for library in (by_fts5, by_us):
        library.database.close()


def _covered(texts: dict[int, list[str]]) -> dict[int, list[list[tuple[str, bool]]]]:
    """Each letter and whether it is marked; where marks meet makes no difference."""
    return {key: [list(_letters(line)) for line in lines] for key, lines in texts.items()}


def _letters(line: str) -> Iterator[tuple[str, bool]]:
    inside = False
    for character in line:
        if character in (OPEN, CLOSE):
            inside = character == OPEN
        elif character.isalnum():
            yield character, inside
