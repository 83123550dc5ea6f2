"""Search words against FTS5's own query syntax.

What a query may hold stands in https://www.sqlite.org/fts5.html#full_text_query_syntax: words and
strings, joined by AND, OR, NOT, +, NEAR, column filters, ^ and *. None of it may work for a person
who types words, and none of it may fail. What should be found is defined here by a few plain lines
that know nothing of SQLite.
"""

import itertools
import re
import sqlite3
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from recorder.archive.finding.words import query
from recorder.archive.index import fts5
from recorder.archive.index.database import SCRATCH, Database
from recorder.archive.index.fts5 import Fts5
from recorder.archive.index.schema import TERMS
from recorder.archive.index.tables import Tables

TEXTS = (
    "TPU belt CV-120A for oven outfeed 3",
    "relay ST1000/5 checked at 145.5 hours",
    "O'Brien Parcel, gate nine",
    "grüßt aus Köln: Förderband läuft",
    "column body: rowid NEAR the seam (not far)",
    "left AND right, OR NOT at all",
    "a b c 1 2 3 5 a",
    "東京 ベルト \ue000 end",
    "to_be -minus +plus ^start {brace} 100 %",
)
# What unicode61 keeps by default, https://www.sqlite.org/fts5.html#unicode61_tokenizer: L* N* Co.
IN_WORDS = {"Lu", "Ll", "Lt", "Lm", "Lo", "Nd", "Nl", "No", "Co"}
STRINGS = 10_000
AT_ONCE = 20  # in one example, because drawing an example costs more than drawing a string

_PIECES = [
    *" \t\"'*()+^:-{}.,;/\\%_&|\0", '""', "--", " AND ", " OR ", " NOT ", "NEAR(", ", 2)", "body:",
    "texts", "a", "b", "5", "c", "o", "belt", "CV-120A", "145.5", "ST1000/5", "o'brien", "köln",
    "KOLN", "forderband", "near", "東京", "\ue000", "seam", "\ud800", "drop table texts",
]  # fmt: skip
_LETTERS = st.text(max_size=12)
_GLUED = st.lists(st.sampled_from(_PIECES), max_size=8).map("".join)


@pytest.fixture(scope="module")
def engine() -> Iterator[sqlite3.Connection]:
    engine = sqlite3.connect(":memory:")
    engine.execute(
        "CREATE VIRTUAL TABLE texts USING fts5 (body, tokenize = 'unicode61 remove_diacritics 2')"
    )
    engine.executemany("INSERT INTO texts (body) VALUES (?)", [(text,) for text in TEXTS])
    yield engine
    engine.close()


def found(engine: sqlite3.Connection, words: str) -> set[int]:
    wanted = query(words)
    if not wanted:  # no condition
        return set(range(len(TEXTS)))
    if not all(wanted):
        return set()
    rows = engine.execute("SELECT rowid FROM texts WHERE texts MATCH ?", (fts5.expression(wanted),))
    return {row[0] - 1 for row in rows}


def tokens(text: str) -> list[str]:
    """Runs of letters, digits and private characters, in lower case, Latin without accents."""
    bare = "".join(
        part[0] if (part := unicodedata.normalize("NFD", letter))[0].isascii() else letter
        for letter in text.lower()
    )
    kept = "".join(letter if unicodedata.category(letter) in IN_WORDS else " " for letter in bare)
    return kept.split()


def should_be_found(words: str) -> set[int] | None:
    """Numbers of the texts in which every word stands, none where no word is among what was typed.

    None where the versions of Unicode of Python and of SQLite may disagree about a character that
    is not assigned.
    """
    if any(unicodedata.category(letter) == "Cn" for letter in words):
        return None
    plain = words.replace("\ud800", "?").replace("\0", " ")
    parts = re.findall(r'(?<!\S)"[^"]*"(?!\S)|\S+', plain)
    looked_for = [part for part in parts if tokens(part)]
    if not looked_for:
        return set() if words.strip() else set(range(len(TEXTS)))
    return {
        number
        for number, text in enumerate(TEXTS)
        if all(stands(part, part == looked_for[-1], tokens(text)) for part in looked_for)
    }


def stands(part: str, last: bool, text: list[str]) -> bool:
    wanted = tokens(part)
    exact = re.fullmatch(r'".*"', part, re.DOTALL) and part.count('"') == 2
    open_end = not exact and (last or len("".join(wanted)) >= 3)
    for at in range(len(text) - len(wanted) + 1):
        *same, end = text[at : at + len(wanted)]
        begins = end.startswith(wanted[-1]) if open_end else end == wanted[-1]
        if same == wanted[:-1] and begins:
            return True
    return False


@settings(
    max_examples=STRINGS // AT_ONCE, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(strings=st.lists(_GLUED | _LETTERS, min_size=AT_ONCE, max_size=AT_ONCE))
def test_no_string_raises_or_means_more_than_its_words(
    engine: sqlite3.Connection, strings: list[str]
) -> None:
    for string in strings:
        should, is_found = should_be_found(string), found(engine, string)
        assert should is None or is_found == should, string
    assert engine.execute("SELECT count(*) FROM texts").fetchone() == (len(TEXTS),)


def test_every_pair_of_pieces_of_the_syntax_finds_the_same_through_the_whole_index(
    tmp_path: Path,
) -> None:
    database = Database(tmp_path / "index.sqlite", SCRATCH)
    Tables(database).make()
    texts = Fts5(database)
    for number, text in enumerate(TEXTS):
        texts.put(number, [text])
    database.fill(TERMS, list(texts.all_words()))
    for pair in itertools.product(_PIECES, repeat=2):
        string = "".join(pair)
        wanted = query(string)
        if not wanted or not all(wanted):
            continue
        found_by = texts.matching(wanted)
        rows = database.rows(select(found_by.key).where(found_by.condition))
        assert {row[0] for row in rows} == should_be_found(string), string
    database.close()


@pytest.mark.parametrize(
    ("word", "text"), [("CV-120A", 0), ("145.5", 1), ("ST1000/5", 1), ("o'brien", 2)]
)
def test_what_the_trade_writes_fails_unquoted_and_is_found_through_us(
    engine: sqlite3.Connection, word: str, text: int
) -> None:
    with pytest.raises(sqlite3.OperationalError, match=r"syntax error|no such column"):
        engine.execute("SELECT rowid FROM texts WHERE texts MATCH ?", (word,)).fetchall()
    assert found(engine, word) == {text}


@pytest.mark.parametrize(
    ("syntax", "by_fts5", "by_us"),
    [
        ("left OR belt", {0, 5}, set()),  # the word "or" stands in only one of them
        ("belt NOT oven", set(), set()),
        ("belt NOT gate", {0}, set()),
        ("body : seam", {4}, {4}),  # here the word "body" stands in the text
        ("body : belt", {0}, set()),
        ("NEAR(belt outfeed)", {0}, set()),
        ("^ TPU", {0}, {0}),
        ("^ belt", set(), {0}),
        ("be * oven", {0}, set()),
        ("(belt)", {0}, {0}),
        ("tpu + belt", {0}, {0}),
        ("belt + tpu", set(), {0}),
    ],
)
def test_operators_work_in_fts5_and_are_words_to_us(
    engine: sqlite3.Connection, syntax: str, by_fts5: set[int], by_us: set[int]
) -> None:
    rows = engine.execute("SELECT rowid FROM texts WHERE texts MATCH ?", (syntax,))
    assert {row[0] - 1 for row in rows} == by_fts5
    assert found(engine, syntax) == by_us
