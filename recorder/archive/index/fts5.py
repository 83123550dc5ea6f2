"""The full-text index by FTS5 of SQLite.

Syntax of a query: https://www.sqlite.org/fts5.html#full_text_query_syntax. A phrase in double
quotes is cut into words by the tokenizer, so that nothing in it is an operator.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from typing import NamedTuple

from sqlalchemy import BigInteger, ColumnElement, Text, column, func, literal_column, select, table

from recorder.archive.index.database import Database
from recorder.archive.index.schema import TERMS
from recorder.archive.index.text import CLOSE, OPEN, Matching, Phrase, Query

# Stands between two lines as a word of its own, so that no phrase goes over the end of a line.
_END = "\x1f"
_BREAK = f"\n{_END}\n"
_TOKENIZER = f"""tokenize = "unicode61 remove_diacritics 2 tokenchars '{_END}'" """
_INDEXED_PREFIXES = 3  # letters: their matches are kept, others are put together on asking

# A beginning of a word is looked for as all the words that begin so, where they are few: FTS5
# reads these as far as needed, but puts together all matches of a prefix first.
_MANY_WORDS = 64
_MANY_PHRASES = 16
_LAST = "\U0010ffff"

# While it is filled, pieces are as large as memory allows and are put together once, at the end.
# https://www.sqlite.org/fts5.html#special_insert_commands
_FILLING = {"automerge": 0, "crisismerge": 1999, "hashsize": 8 << 20}
_SETTLED = {"automerge": 4, "crisismerge": 16, "hashsize": 1 << 20}  # what FTS5 begins with

# To ask one job for its text takes as long as to go on by so many matches: tried on 100,000 jobs.
_MATCHES_A_JOB = 200
_UNKNOWN = 20_000  # matches, where the words do not tell their number

_TEXTS = table("texts", column("rowid", BigInteger), column("texts", Text), column("body", Text))
_TABLE: ColumnElement[str] = literal_column("texts")  # what FTS5's own functions are given


class _Group(NamedTuple):
    """jobs: how many hold one of the phrases, at most; None when that is not known."""

    phrases: tuple[Phrase, ...]
    jobs: int | None = None


class Fts5:
    def __init__(self, database: Database) -> None:
        self._database = database
        self._has_scratch = False

    def make(self) -> None:
        prefixes = f"prefix = '{' '.join(map(str, range(2, _INDEXED_PREFIXES + 1)))}'"
        self._database.rows(
            f"CREATE VIRTUAL TABLE texts USING fts5 (body, {_TOKENIZER}, {prefixes})"
        )

        self._configure(_FILLING)

    def settle(self) -> None:
        # https://www.sqlite.org/fts5.html#the_optimize_command
        self._database.rows("INSERT INTO texts (texts) VALUES ('optimize')")
        self._configure(_SETTLED)

    def put(self, key: int, lines: Sequence[str]) -> None:
        statement = "INSERT INTO texts (rowid, body) VALUES (?, ?)"
        self._database.rows(statement, (key, _BREAK.join(lines)))

    def remove(self, key: int) -> None:
        self._database.rows("DELETE FROM texts WHERE rowid = ?", (key,))

    def lines(self, key: int) -> list[str]:
        found = self._database.rows("SELECT body FROM texts WHERE rowid = ?", (key,))
        return found[0][0].split(_BREAK) if found and found[0][0] else []

    def words(self, lines: Sequence[str]) -> set[str]:
        """By the tokenizer itself, in a table that lasts as long as the connection."""
        database = self._database
        if not self._has_scratch:
            database.rows(
                f"CREATE VIRTUAL TABLE temp.scratch USING fts5 (body, content = '', {_TOKENIZER})"
            )
            database.rows(
                "CREATE VIRTUAL TABLE temp.scratch_words USING fts5vocab (temp, scratch, row)"
            )
            self._has_scratch = True
        database.rows("INSERT INTO temp.scratch (scratch) VALUES ('delete-all')")
        database.rows("INSERT INTO temp.scratch (body) VALUES (?)", (_BREAK.join(lines),))
        found = database.rows("SELECT term FROM temp.scratch_words")
        return {term for (term,) in found if term != _END}

    def all_words(self) -> Iterable[tuple[str, int]]:
        self._database.rows(
            "CREATE VIRTUAL TABLE IF NOT EXISTS temp.vocabulary USING fts5vocab (main, texts, row)"
        )
        found = self._database.stream("SELECT term, doc FROM temp.vocabulary")
        return ((term, jobs) for term, jobs in found if term != _END)

    def matching(self, query: Query, scored: bool = False) -> Matching:
        plain = scored or sum(map(len, query)) > _MANY_PHRASES
        groups = [_Group(group) if plain else self._spelt_out(group) for group in query]
        spelt = tuple(group.phrases for group in groups)
        most = min((group.jobs for group in groups if group.jobs is not None), default=_UNKNOWN)
        return Matching(
            key=_TEXTS.c.rowid,
            condition=_TEXTS.c.texts.match(expression(spelt)),
            score=func.bm25(_TABLE),
            marked=func.highlight(_TABLE, 0, OPEN, CLOSE),
            one_by_one=0 if any(map(_is_slow, chain(*spelt))) else most // _MATCHES_A_JOB,
        )

    def highlighted(self, query: Query, keys: Sequence[int]) -> dict[int, list[str]]:
        """In one passage over the matches between the first key and the last; + 0 keeps FTS5 from
        beginning anew for each key.
        """
        if not keys:
            return {}
        found = self.matching(query)
        chosen = select(found.key, found.marked).where(
            found.condition, found.key.between(min(keys), max(keys)), (found.key + 0).in_(keys)
        )
        return {key: self.apart(text) for key, text in self._database.rows(chosen)}

    def apart(self, text: str) -> list[str]:
        return text.split(_BREAK)

    def scrub(self) -> None:
        # https://www.sqlite.org/fts5.html#the_optimize_command
        self._database.rows("INSERT INTO texts (texts) VALUES ('optimize')")
        self._database.rows("PRAGMA wal_checkpoint(TRUNCATE)")

    def check(self) -> None:
        # https://www.sqlite.org/fts5.html#the_integrity_check_command
        self._database.rows("INSERT INTO texts (texts, rank) VALUES ('integrity-check', 1)")

    def _configure(self, options: Mapping[str, int]) -> None:
        for option in options.items():
            self._database.rows("INSERT INTO texts (texts, rank) VALUES (?, ?)", option)

    def _spelt_out(self, group: Sequence[Phrase]) -> _Group:
        found = [self._words_of(phrase) for phrase in group]
        numbers = [each.jobs for each in found if each.jobs is not None]
        return _Group(
            tuple(chain(*(each.phrases for each in found))),
            sum(numbers) if len(numbers) == len(found) else None,
        )

    def _words_of(self, phrase: Phrase) -> _Group:
        begin = phrase.text.lower()
        is_short = phrase.prefix and len(begin) <= _INDEXED_PREFIXES
        if is_short or not (begin.isascii() and begin.isalnum()):
            return _Group((phrase,))
        words = select(TERMS).where(TERMS.c.term == begin)
        if phrase.prefix:
            words = select(TERMS).where(TERMS.c.term >= begin, TERMS.c.term < begin + _LAST)
        found = self._database.rows(words.limit(_MANY_WORDS + 1))
        if len(found) > _MANY_WORDS:
            return _Group((phrase,))
        spelt = tuple(Phrase(term) for term, _ in found) or (Phrase(phrase.text),)
        return _Group(spelt, sum(jobs for _, jobs in found))


def expression(query: Query) -> str:
    """The query as FTS5 reads it; no group is empty."""
    return " AND ".join(f"({' OR '.join(map(_quoted, group))})" for group in query)


def _is_slow(phrase: Phrase) -> bool:
    """Whether FTS5 puts together all its matches before the first can be read."""
    return phrase.prefix and len(phrase.text) > _INDEXED_PREFIXES


def _quoted(phrase: Phrase) -> str:
    """NUL would end the query, and half a surrogate pair cannot be stored."""
    plain = phrase.text.encode("utf-8", "replace").decode().replace("\0", " ").replace(_END, " ")
    quoted = '"' + plain.replace('"', '""') + '"'
    return f"{quoted} *" if phrase.prefix else quoted
