"""Whatever way the search goes to the jobs, it finds what looking at every job finds."""

import random
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

import pytest

from recorder.archive.disk.home import Home
from recorder.archive.finding import keys, ranges
from recorder.archive.finding.search import Order, Range, count
from recorder.archive.index.entries import Entry, entry
from recorder.archive.index.index import Index
from recorder.archive.index.rows import ValueRow
from recorder.archive.index.text import Phrase, Query
from recorder.archive.jobs.record import dump
from recorder.model.fields import FIELDS
from tests.archive.finding.asking import conditions, search
from tests.archive.sample_jobs import CUSTOMERS, NOW, WORDS, synthetic_job

JOBS = 80
NUMBERS = ("top_temperature", "bottom_temperature")


@pytest.fixture(scope="module")
def archive(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Index, list[Entry]]]:
    home = Home.open(tmp_path_factory.mktemp("plans") / "home")
    entries = []
    for number in range(JOBS):
        job = synthetic_job(number)
        if number % 7 == 0:  # some without any value, and some of one moment
            job = job.model_copy(update={"readings": (), "created_at": NOW})
        (home.jobs / job.id).mkdir()
        (home.jobs / job.id / "job.json").write_bytes(dump(job))
        entries.append(entry(job, ""))
    with Index.open(home) as index:
        yield index, entries


def _text(entry: Entry) -> list[list[str]]:
    return [line.casefold().split() for line in entry.lines]


def _holds(entry: Entry, phrase: Phrase) -> bool:
    word = phrase.text
    return any(
        each.startswith(word) if phrase.prefix else each == word
        for line in _text(entry)
        for each in line
    )


def _fulfils(row: ValueRow, asked: Range) -> bool:
    if (row.field, row.role) != (asked.field, "used"):
        return False
    if isinstance(asked.equals, str):
        return row.word == asked.equals.casefold()
    assert row.low is not None
    assert row.high is not None
    return (
        (asked.low is None or (row.low > asked.low if asked.low_open else row.low >= asked.low))
        and (
            asked.high is None
            or (row.high < asked.high if asked.high_open else row.high <= asked.high)
        )
        and (asked.equals is None or row.low == asked.equals)
    )


class Asked(NamedTuple):
    query: Query
    ranges: list[Range]
    outcome: str | None
    since: datetime | None
    until: datetime | None

    def fulfilled(self, entry: Entry) -> bool:
        return (
            all(any(_holds(entry, phrase) for phrase in group) for group in self.query)
            and all(any(_fulfils(row, one) for row in entry.values) for one in self.ranges)
            and self.outcome in (None, entry.job["outcome"])
            and (self.since is None or entry.at >= self.since)
            and (self.until is None or entry.at < self.until)
        )


def _asked(dice: random.Random) -> Asked:
    def phrase() -> Phrase:
        word = dice.choice(WORDS)
        return Phrase(word[: dice.choice((2, 4, 20))], dice.random() < 0.7)

    def group() -> tuple[Phrase, ...]:
        return tuple(phrase() for _ in range(dice.choice((1, 1, 2))))

    def bound() -> float | None:
        return dice.choice((None, 155.0, 160.0, 165.0, 170.0, 175.0, 180.0))

    def condition() -> Range:
        word = {"customer": dice.choice(CUSTOMERS), "outcome": "accepted"}
        field = dice.choice([*NUMBERS * 4, *word])
        if field in word:
            return Range(field, equals=word[field])
        return Range(field, bound(), bound(), dice.random() < 0.5, dice.random() < 0.5)

    def moment() -> datetime | None:
        return dice.choice((None, None, NOW - timedelta(hours=dice.randrange(JOBS))))

    return Asked(
        tuple(
            tuple(phrase() for _ in range(dice.choice((1, 1, 2)))) for _ in range(dice.randrange(3))
        ),
        [condition() for _ in range(dice.choice((0, 1, 1, 2)))],
        dice.choice((None, None, None, *FIELDS["outcome"].choices)),
        moment(),
        moment(),
    )


def _order(dice: random.Random) -> Order:
    by = dice.choice([*keys.BY_NO_FIELD, "pressure", "customer", "bubbles"])
    return Order(by, by not in keys.BY_NO_FIELD and dice.random() < 0.5)


@pytest.mark.parametrize(("very_few", "few"), [(0, 0), (0, 15), (15, 40), (20, 20), (1000, 1000)])
def test_a_search_finds_what_looking_at_every_job_finds(
    archive: tuple[Index, list[Entry]],
    very_few: int,
    few: int,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for room in (ranges, keys):
        monkeypatch.setattr(room, "FEW", few)
        monkeypatch.setattr(room, "VERY_FEW", very_few)
    index, entries = archive
    numbers = []
    for seed in range(80):
        dice = random.Random(seed)
        asked, order, limit = _asked(dice), _order(dice), dice.choice((1, 3, JOBS))
        expected = {entry.id: entry for entry in entries if asked.fulfilled(entry)}
        hits = search(index, *asked, order=order, limit=limit, snippets=False)
        assert count(index, conditions(*asked)) == len(expected), (asked, order)
        found = [hit.id for hit in hits]
        assert len(found) == len(set(found)) == min(limit, len(expected)), (asked, order)
        assert expected.keys() >= set(found), (asked, order)
        if order != Order("relevance"):
            places = sorted(
                (_place(entry, order) for entry in expected.values()), reverse=order.by == "newest"
            )
            assert [_place(expected[job_id], order) for job_id in found] == places[:limit]
        numbers.append(len(expected))
    assert sum(number > 0 for number in numbers) > 40
    assert sum(number < JOBS / 2 for number in numbers) > 40


def _place(entry: Entry, order: Order) -> tuple[object, ...]:
    """What the order goes by; more than one job may have it."""
    if order.by in keys.BY_NO_FIELD:
        return (entry.at,)
    values = [
        row.low if row.word is None else row.word
        for row in entry.values
        if (row.field, row.role) == (order.by, "used")
    ]
    if not values:
        return (True, -entry.at.timestamp())
    best = max(values) if order.descending else min(values)  # type: ignore[type-var]
    if isinstance(best, str):
        return (False, *(-ord(c) if order.descending else ord(c) for c in best), *([0] * 40))[:30]
    return (False, -best if order.descending else best)  # type: ignore[operator]
