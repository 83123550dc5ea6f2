"""Whatever way the search goes to the jobs, it finds what looking at every job finds."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from recorder.archive.disk.home import Home
from recorder.archive.finding import keys, ranges
from recorder.archive.finding.search import Order, Range, count, search
from recorder.archive.index.entries import Entry, entry
from recorder.archive.index.index import Index
from recorder.archive.index.rows import ValueRow
from recorder.archive.index.text import Phrase, Query
from recorder.archive.jobs.folder import dump
from recorder.model.fields import FIELDS
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


WORD = st.sampled_from(WORDS)
PHRASE = st.builds(Phrase, WORD | WORD.map(lambda word: word[:4]), st.booleans())
QUERY = st.lists(st.lists(PHRASE, min_size=1, max_size=2).map(tuple), max_size=2).map(tuple)
BOUND = st.none() | st.sampled_from([155.0, 160.0, 165.0, 170.0, 175.0, 180.0])
RANGE = st.builds(
    Range, st.sampled_from(NUMBERS), BOUND, BOUND, st.booleans(), st.booleans()
) | st.builds(
    Range,
    st.sampled_from(["customer", "outcome"]).map(str),
    equals=st.sampled_from([*CUSTOMERS, "accepted"]),
).filter(lambda asked: (asked.equals == "accepted") == (asked.field == "outcome"))
MOMENT = st.none() | st.integers(0, JOBS).map(lambda hours: NOW - timedelta(hours=hours))
ORDER = st.sampled_from(
    [Order("newest"), Order("oldest"), Order("relevance")]
    + [
        Order(field, down)
        for field in ("pressure", "customer", "bubbles")
        for down in (False, True)
    ]
)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    query=QUERY,
    asked=st.lists(RANGE, max_size=2),
    outcome=st.none() | st.sampled_from(FIELDS["outcome"].choices),
    since=MOMENT,
    until=MOMENT,
    order=ORDER,
    limit=st.sampled_from([1, 3, JOBS]),
    few=st.sampled_from([0, 15, 1000]),
)
def test_a_search_finds_what_looking_at_every_job_finds(
    archive: tuple[Index, list[Entry]], query: Query, asked: list[Range], outcome: str | None,
    since: object, until: object, order: Order, limit: int, few: int,
) -> None:  # fmt: skip
    index, entries = archive
    expected = [
        each
        for each in entries
        if all(any(_holds(each, phrase) for phrase in group) for group in query)
        and all(any(_fulfils(row, one) for row in each.values) for one in asked)
        and outcome in (None, each.job["outcome"])
        and (since is None or each.at >= since)  # type: ignore[operator]
        and (until is None or each.at < until)  # type: ignore[operator]
    ]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ranges, "FEW", few)
        hits = search(index, query, asked, outcome, since, until, order, limit, snippets=False)  # type: ignore[arg-type]
        assert count(index, query, asked, outcome, since, until) == len(expected)  # type: ignore[arg-type]
    found = [hit.id for hit in hits]
    assert len(found) == len(set(found)) == min(limit, len(expected))
    known = {each.id: each for each in expected}
    assert known.keys() >= set(found)
    in_order = sorted(
        (_place(each, order) for each in expected),
        reverse=order.by in ("newest", "relevance"),
    )
    if order.by != "relevance":
        assert [_place(known[job_id], order) for job_id in found] == in_order[:limit]


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
