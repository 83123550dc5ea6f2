"""Searches of a synthetic archive: right, and how quick beside SQLite alone."""

from __future__ import annotations

import functools
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from recorder.archive.disk.home import Home
from recorder.archive.finding.saved import Asked as Typed
from recorder.archive.finding.search import NEWEST, Hit, Order, Range, count, search
from recorder.archive.index.index import Index
from recorder.flows.conditions import condition
from recorder.flows.find import find
from tests.bench.archive import queries
from tests.bench.archive.bare import Bare
from tests.bench.archive.figures import Figure, percentile, quickest, spread, timed
from tests.bench.archive.queries import Asked
from tests.bench.archive.truth import Truth

PAGE = 50
REPEATS = 3


@dataclass(frozen=True)
class Answered:
    """asked: the query. seconds: of the search. bare_s, plan: of the best statement by hand.
    wrong: what is not as the generator knows it; empty when all is.
    """

    asked: Asked
    seconds: float
    bare_s: float = 0.0
    plan: str = ""
    wrong: str = ""


def newest_first(index: Index, truth: Truth, bare: Bare, asked: Asked) -> Answered:
    """The first page, the number of all, and the same by hand."""
    expected = asked.expected(truth)
    page = [hit.id for hit in _hits(index, asked)]
    wrong = "" if page == expected[:PAGE] else f"{len(page)} jobs, not the newest that there are"
    every = count(index, " ".join(asked.words), _ranges(asked), asked.outcome, asked.since)
    if every != len(expected):
        wrong = f"counts {every} jobs and not {len(expected)}"
    seconds = quickest(lambda: _hits(index, asked), REPEATS)
    bare_s, plan = bare.quickest(asked, expected[:PAGE], PAGE)
    return Answered(asked, seconds, bare_s, plan, wrong)


def in_order(index: Index, truth: Truth, asked: Asked, order: Order) -> Answered:
    """A page in another order: all of it among what is to be found, and as much as there is."""
    expected = set(asked.expected(truth))
    page = [hit.id for hit in _hits(index, asked, order)]
    right = len(set(page)) == len(page) == min(PAGE, len(expected)) and expected.issuperset(page)
    wrong = "" if right else f"{len(page)} jobs in the order {order.by}, not those that there are"
    return Answered(asked, quickest(lambda: _hits(index, asked, order), REPEATS), wrong=wrong)


def figures(home: Home, truth: Truth, number: int) -> tuple[list[Figure], list[str]]:
    """number: of queries with word and range; of the others fewer. Also one line for each answer
    that is wrong.
    """
    bare = Bare(home.index)
    with Index.open(home) as index:
        mix = [newest_first(index, truth, bare, asked) for asked in queries.word_and_range(number)]
        words = [newest_first(index, truth, bare, one) for one in queries.words_alone(number // 4)]
        ranges = [
            newest_first(index, truth, bare, one) for one in queries.ranges_alone(number // 4)
        ]
        ranked = _ordered(index, truth, number // 4, ("relevance",), (False,))
        by_field = _ordered(index, truth, number // 8, ("top_temperature", "finger_gap"))
        first = quickest(lambda: search(index, limit=PAGE), REPEATS)
    bare.close()
    worst = max(mix, key=lambda one: one.seconds)
    found = [
        *spread("word and range, newest first", [one.seconds for one in mix], most_ms=50),
        *_beside("word and range", mix),
        Figure("word and range, the worst one", worst.seconds * 1e3, "ms", note=str(worst.asked)),
        *spread("words alone, newest first", [one.seconds for one in words]),
        *spread("a range alone, newest first", [one.seconds for one in ranges]),
        *spread("ranked by relevance", [one.seconds for one in ranked], most_ms=500),
        *spread("sorted by a field", [one.seconds for one in by_field]),
        Figure("first page of all jobs", first * 1e3, "ms"),
    ]
    answers = [*mix, *words, *ranges, *ranked, *by_field]
    mistakes = [f"{one.asked}: {one.wrong}" for one in answers if one.wrong]
    typed, more = _mistyped(home, truth, max(3, number // 24))
    return [*found, *typed], [*mistakes, *more]


def _beside(name: str, answers: Sequence[Answered]) -> list[Figure]:
    """Beside SQLite alone, which does not mark the words in what it finds."""
    bare = [one.bare_s for one in answers]
    search_s = [one.seconds for one in answers]
    ratios = statistics.median(one.seconds / one.bare_s for one in answers)
    ratio = percentile(search_s, 95) / percentile(bare, 95)
    return [
        *spread(f"{name}, by hand in SQL", bare),
        Figure(f"{name}, p95 by that of SQL by hand", ratio, "times", most=3),
        Figure(f"{name}, median of each ratio", ratios, "times"),
    ]


def _ordered(
    index: Index, truth: Truth, number: int, by: Iterable[str],
    directions: Iterable[bool] = (False, True),
) -> list[Answered]:  # fmt: skip
    """Half of the queries with words alone."""
    asked = [*queries.words_alone(number // 2, 1), *queries.word_and_range(number - number // 2, 1)]
    return [
        in_order(index, truth, one, Order(name, descending))
        for name in by
        for descending in directions
        for one in asked
    ]


def _mistyped(home: Home, truth: Truth, number: int) -> tuple[list[Figure], list[str]]:
    """Through the whole flow, as the typing error is understood there."""
    seconds, mistakes = [], []
    for typed, meant in queries.mistyped(number):
        asked = Typed(words=typed)
        find(home, asked)
        seconds.append(timed(functools.partial(find, home, asked)))
        expected = truth.found([meant])
        hits = [hit.id for hit in find(home, asked).hits]
        if truth.found([typed]) or not expected:
            continue
        if len(hits) < min(PAGE, len(expected)):
            mistakes.append(f"{typed}, meant {meant}: {len(hits)} jobs of {len(expected)}")
    return spread("a typing error, with opening the index", seconds), mistakes


def _hits(index: Index, asked: Asked, order: Order = NEWEST) -> tuple[Hit, ...]:
    return search(
        index, " ".join(asked.words), _ranges(asked), outcome=asked.outcome, since=asked.since,
        order=order, limit=PAGE,
    )  # fmt: skip


def _ranges(asked: Asked) -> tuple[Range, ...]:
    return tuple(map(condition, asked.conditions))
