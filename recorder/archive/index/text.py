"""What the archive wants of a full-text index.

FTS5 fulfils it here (``fts5``). Another database brings its own, and the same tests hold it:
tests/archive/index/test_text.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple, Protocol

if TYPE_CHECKING:
    from sqlalchemy import ColumnElement

OPEN, CLOSE = "\x02", "\x03"  # around each match; control characters never stand in the text


class Phrase(NamedTuple):
    """Words that stand one after another.

    text: as a person writes them; the index takes them apart as it did its own text. prefix:
    whether the last of them may be the beginning of a longer one.
    """

    text: str
    prefix: bool = False


# Every group by at least one of its phrases. No group: no condition. An empty group: never.
Query = tuple[tuple[Phrase, ...], ...]


class Matching(NamedTuple):
    """Parts of a SELECT that finds jobs by their text.

    key: of the job. condition: that its text fulfils the query. score: the lower, the better it
    answers; only in a SELECT with that condition, and so is marked: the text with each match in
    OPEN and CLOSE, to be taken apart by ``TextIndex.apart``. one_by_one: up to how many jobs are
    sooner asked for their text than all matches gone through.
    """

    key: ColumnElement[int]
    condition: ColumnElement[bool]
    score: ColumnElement[float]
    marked: ColumnElement[str]
    one_by_one: int = 0


class TextIndex(Protocol):
    """The texts of the jobs by their keys; each is a list of lines without control characters.

    Capitals and Latin accents make no difference. A phrase stands within one line.
    """

    def make(self) -> None:
        """Make it, empty, in an empty database, ready for many texts."""

    def settle(self) -> None:
        """They are in; from now on texts come one by one."""

    def put(self, key: int, lines: Sequence[str]) -> None:
        """Take in the text of a job that it does not hold."""

    def remove(self, key: int) -> None:
        """Forget the text of a job."""

    def lines(self, key: int) -> list[str]:
        """The text of a job as it was put; nothing when it holds none."""

    def words(self, lines: Sequence[str]) -> set[str]:
        """The different words of a text, folded."""

    def all_words(self) -> Iterable[tuple[str, int]]:
        """All different words of all texts, folded, with the number of jobs that hold each."""

    def matching(self, query: Query, scored: bool = False) -> Matching:
        """How to find the jobs that fulfil a query, in which no group is empty. Every phrase has
        a letter or digit in it. scored: whether the score is wanted too.
        """

    def highlighted(self, query: Query, keys: Sequence[int]) -> dict[int, list[str]]:
        """The lines of those of the jobs that fulfil the query, each match in OPEN and CLOSE."""

    def apart(self, text: str) -> list[str]:
        """The lines of a marked text."""

    def scrub(self) -> None:
        """Leave no trace of removed texts in the file. Takes seconds where there are many."""

    def check(self) -> None:
        """Raises IndexDamaged when it contradicts itself."""
