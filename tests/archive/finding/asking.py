"""A search as tests ask it: in words, with the conditions beside them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from recorder.archive.finding import search as finding
from recorder.archive.finding import words as search_words
from recorder.archive.finding.asked import NEWEST, Conditions, Order, Range
from recorder.archive.finding.search import Hit
from recorder.archive.index.index import Index
from recorder.archive.index.text import Query


def conditions(
    words: str | Query = "",
    ranges: Sequence[Range] = (),
    outcome: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> Conditions:
    query = search_words.query(words) if isinstance(words, str) else words
    return Conditions(query, tuple(ranges), outcome, since, until)


def search(
    index: Index,
    words: str | Query = "",
    ranges: Sequence[Range] = (),
    outcome: str | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    order: Order = NEWEST,
    limit: int = 50,
    snippets: bool = True,
) -> tuple[Hit, ...]:
    asked = conditions(words, ranges, outcome, since, until)
    return finding.search(index, asked, order, limit, snippets)
