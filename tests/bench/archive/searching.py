"""Searches of a synthetic archive: right, and how quick beside SQLite alone."""

from __future__ import annotations

import functools
import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from recorder.archive.disk.home import Home
from recorder.archive.finding.saved import Asked as Typed
from recorder.archive.finding.search import NEWEST, Hit, Order, Range, count
from recorder.archive.index.index import Index
from recorder.flows.conditions import condition
from recorder.flows.find import find
from recorder.model.fields import FIELDS
from tests.archive.finding.asking import conditions, search
from tests.bench.archive import queries
from tests.bench.archive.bare import Bare, ByHand
from tests.bench.archive.figures import Figure, Spent, percentile, quickest, single, spread, timed
from tests.bench.archive.queries import Asked
from tests.bench.archive.truth import Truth

PAGE = 50
REPEATS = 3


@dataclass(frozen=True)
class Answered:
    """asked: the query. spent: by the search. plain: without marking the words in what it found.
    by_hand: by the best statement. wrong: what is not as the generator knows it; empty when all is.
    """

    asked: Asked
    spent: Spent
    plain: Spent
    by_hand: ByHand
    wrong: str = ""


def newest_first(index: Index, truth: Truth, bare: Bare | None, asked: Asked) -> Answered:
    """The first page, the number of all, and with ``bare`` the same by hand."""
    expected = asked.expected(truth)
    page = [hit.id for hit in _hits(index, asked)]
    wrong = "" if page == expected[:PAGE] else f"{len(page)} jobs, not the newest that there are"
    every = count(
        index, conditions(" ".join(asked.words), _ranges(asked), asked.outcome, asked.since)
    )
    if every != len(expected):
        wrong = f"counts {every} jobs and not {len(expected)}"
    return Answered(
        asked=asked,
        spent=quickest(lambda: _hits(index, asked), REPEATS),
        plain=quickest(lambda: _hits(index, asked, snippets=False), REPEATS),
        by_hand=bare.quickest(asked, expected[:PAGE], PAGE) if bare else ByHand("", 0, 0),
        wrong=wrong,
    )


def in_order(index: Index, truth: Truth, asked: Asked, order: Order) -> tuple[Spent, str]:
    """A page in another order: as many jobs as there are, all of those that are to be found, and
    by a field those with the first values. Also what is wrong with it.
    """
    expected = asked.expected(truth)
    page = [hit.id for hit in _hits(index, asked, order)]
    right = len(set(page)) == len(page) == min(PAGE, len(expected)) and set(expected) >= set(page)
    if right and order.by in FIELDS:
        told = truth.in_order(page, order.by, order.descending)
        every = truth.in_order(expected, order.by, order.descending)
        every.sort(key=lambda value: (math.isnan(value), -value if order.descending else value))
        right = np.array_equal(told, every[: len(told)], equal_nan=True)
    wrong = (
        "" if right else f"{asked}: {len(page)} jobs by {order.by}, not the first that there are"
    )
    return quickest(lambda: _hits(index, asked, order), REPEATS), wrong


def figures(home: Home, truth: Truth, number: int) -> tuple[list[Figure], list[str]]:
    """number: of queries with word and range; of the others fewer. Also one line for each answer
    that is wrong.
    """
    bare = Bare(home.index)
    with Index.open(home) as index:
        mix = [newest_first(index, truth, bare, asked) for asked in queries.word_and_range(number)]
        words = [newest_first(index, truth, None, one) for one in queries.words_alone(number // 4)]
        ranges = [
            newest_first(index, truth, None, one) for one in queries.ranges_alone(number // 4)
        ]
        ranked = _ordered(index, truth, number // 6, ("relevance",), (False,))
        by_field = _ordered(index, truth, number // 12, ("top_temperature", "finger_gap"))
        first = quickest(lambda: search(index, limit=PAGE), REPEATS)
    bare.close()
    worst = max(mix, key=lambda one: one.spent.cpu_s)
    asked = f"{worst.asked}; by hand: {worst.by_hand.plan}"
    found = [
        *spread("word and range, newest first", [one.spent for one in mix], most_ms=50),
        single("  the worst one", worst.spent, note=asked),
        *_beside(mix),
        *spread("words alone, newest first", [one.spent for one in words]),
        *spread("a range alone, newest first", [one.spent for one in ranges]),
        *spread("ranked by relevance", [spent for spent, _ in ranked], most_ms=500),
        *spread("sorted by a field", [spent for spent, _ in by_field]),
        single("first page of all jobs", first),
    ]
    mistakes = [f"{one.asked}: {one.wrong}" for one in (*mix, *words, *ranges) if one.wrong]
    mistakes += [wrong for _, wrong in (*ranked, *by_field) if wrong]
    typed, more = _mistyped(home, truth, max(3, number // 24))
    return [*found, *typed], [*mistakes, *more]


def _beside(answers: Sequence[Answered]) -> list[Figure]:
    """Beside SQLite alone, by CPU time, as the shortest are over before the clock is."""
    searched = [one.spent.cpu_s for one in answers]
    plain = [one.plain.cpu_s for one in answers]
    by_hand = [one.by_hand.cpu_s for one in answers]
    marked = [one.by_hand.marked_s for one in answers]
    return [
        *spread("  without marking words", [one.plain for one in answers]),
        *spread("  by hand in SQL", [Spent(*one.by_hand[1:3]) for one in answers]),
        Figure("  by hand in SQL, words marked, p95", percentile(marked, 95) * 1e3, "ms"),
        *_ratios("without marking words", plain, by_hand, most=3),
        *_ratios("words marked, so by hand", searched, marked, most=3),
        *_ratios("words marked, not so by hand", searched, by_hand),
    ]


def _ratios(
    name: str, ours: Sequence[float], by_hand: Sequence[float], most: float | None = None
) -> list[Figure]:
    p95 = percentile(ours, 95) / percentile(by_hand, 95)
    median = statistics.median(one / other for one, other in zip(ours, by_hand, strict=True))
    return [
        Figure(f"  p95 by hand's, {name}", p95, "times", most, note=f"median ratio {median:.2f}")
    ]


def _ordered(
    index: Index, truth: Truth, number: int, by: Iterable[str],
    directions: Iterable[bool] = (False, True),
) -> list[tuple[Spent, str]]:  # fmt: skip
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
    spent, mistakes = [], []
    for typed, meant in queries.mistyped(number):
        asked = Typed(words=typed)
        find(home, asked)
        spent.append(timed(functools.partial(find, home, asked)))
        expected = truth.found([meant])
        hits = [hit.id for hit in find(home, asked).hits]
        if truth.found([typed]) or not expected:
            continue
        if len(hits) < min(PAGE, len(expected)):
            mistakes.append(f"{typed}, meant {meant}: {len(hits)} jobs of {len(expected)}")
    return spread("a typing error, with opening the index", spent), mistakes


def _hits(
    index: Index, asked: Asked, order: Order = NEWEST, snippets: bool = True
) -> tuple[Hit, ...]:
    return search(
        index, " ".join(asked.words), _ranges(asked), outcome=asked.outcome, since=asked.since,
        order=order, limit=PAGE, snippets=snippets,
    )  # fmt: skip


def _ranges(asked: Asked) -> tuple[Range, ...]:
    return tuple(map(condition, asked.conditions))
