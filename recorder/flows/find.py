"""A search line to past jobs: words, ranges in any unit, outcome and dates.

::

    words ─ synonyms ─┐
    conditions ───────┼─► index ─► nothing? typing errors ─► index ─► hits, or what to leave out
    dates, order ─────┘
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from recorder.archive.disk.home import Home
from recorder.archive.finding.fields import known_field
from recorder.archive.finding.folding import tokens
from recorder.archive.finding.meaning import Meaning, corrected, meaning
from recorder.archive.finding.saved import Asked, saved_search
from recorder.archive.finding.search import Hit, Order, Range, count, search
from recorder.archive.finding.synonyms import synonyms
from recorder.archive.finding.words import occurs, typed
from recorder.archive.index.index import Index
from recorder.archive.index.text import Phrase, Query
from recorder.errors import BadValue
from recorder.flows.conditions import condition
from recorder.flows.moments import stretch
from recorder.flows.wanted_units import wanted_units
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading

SHOWN = 50  # jobs, where nobody says how many
ALL = 1_000_000_000
BY_TIME = ("newest", "oldest")
BY_RELEVANCE = "relevance"


@dataclass(frozen=True)
class Found:
    """The answer to a search.

    more: whether there are others beyond the limit. fields: those that a condition or the order
    names, which ``Hit.matched`` tells of. units: the wanted one by dimension. also: the synonyms
    of a word that stand in the lines of the hits. instead: what was looked for in place of a word
    that no job holds. without: where nothing was found, how many jobs there are when one condition
    is left out, by that condition; none that helps nothing.
    """

    hits: tuple[Hit, ...]
    more: bool
    fields: tuple[str, ...]
    units: Mapping[str, str]
    also: Mapping[str, tuple[str, ...]]
    instead: Mapping[str, tuple[str, ...]]
    without: Mapping[str, int]


@dataclass(frozen=True)
class _Question:
    """What is asked, understood."""

    query: Query
    ranges: tuple[Range, ...]
    outcome: str | None
    since: datetime | None
    until: datetime | None
    order: Order

    def count(self, index: Index) -> int:
        return count(index, self.query, self.ranges, self.outcome, self.since, self.until)

    def hits(self, index: Index, limit: int, snippets: bool) -> tuple[Hit, ...]:
        return search(
            index, self.query, self.ranges, self.outcome, self.since, self.until,
            order=self.order, limit=limit, snippets=snippets,
        )  # fmt: skip


@dataclass(frozen=True)
class _Answer:
    question: _Question
    meant: Meaning
    hits: tuple[Hit, ...]
    without: Mapping[str, int]


def find(home: Home, asked: Asked, everything: bool = False) -> Found:
    """everything: not only the first few where no limit is asked for.

    Raises UnknownField, UnknownUnit, BadValue or WrongUse for a wrong condition, BadSynonyms,
    and what the index raises.
    """
    units = wanted_units(asked.units)
    limit = asked.limit or (ALL if everything else SHOWN)
    answer = _answer(home, asked, limit + 1, for_people=True)
    return Found(
        hits=answer.hits[:limit],
        more=len(answer.hits) > limit,
        fields=_fields(answer.question),
        units=units,
        also=_seen(answer.meant.also, answer.hits[:limit]),
        instead=answer.meant.instead,
        without=answer.without,
    )


def selected(home: Home, asked: Asked) -> tuple[str, ...]:
    """Ids of all jobs that are asked for, in the order that is asked for. Raises as ``find``."""
    answer = _answer(home, asked, asked.limit or ALL, for_people=False)
    return tuple(hit.id for hit in answer.hits)


def with_saved(home: Home, name: str | None, asked: Asked) -> Asked:
    """What is asked, on top of a saved search where one is named. Raises UnknownSearch,
    BadSearches.
    """
    return saved_search(home, name).narrowed(asked) if name is not None else asked


def _answer(home: Home, asked: Asked, limit: int, for_people: bool) -> _Answer:
    """for_people: with snippets, and with what to leave out where nothing is found."""
    same = synonyms(home.synonyms)
    meant = meaning(asked.words, same)
    question = _question(asked, meant.query)
    with Index.open(home) as index:
        hits = question.hits(index, limit, for_people)
        if not hits and (better := corrected(asked.words, same, index)):
            meant, question = better, dataclasses.replace(question, query=better.query)
            hits = question.hits(index, limit, for_people)
        helpful = for_people and not hits
        without = dict(_loosened(index, asked, question)) if helpful else {}
    return _Answer(question, meant, hits, without)


def _question(asked: Asked, query: Query) -> _Question:
    outcome = asked.outcome and str(typed_reading("outcome", asked.outcome, Typed()).value)
    return _Question(
        query=query,
        ranges=tuple(map(condition, asked.where)),
        outcome=outcome,
        since=stretch(asked.since, "since")[0] if asked.since is not None else None,
        until=stretch(asked.until, "until")[1] if asked.until is not None else None,
        order=_order(asked),
    )


def _order(asked: Asked) -> Order:
    sort = asked.sort or BY_TIME[0]
    if sort in BY_TIME:
        return Order(sort)
    if sort == BY_RELEVANCE:
        if not asked.words.strip():
            hint = "give words by which a job can be relevant, or sort by newest"
            raise BadValue(value=sort, field="the order of jobs without words", hint=hint)
        return Order(sort)
    descending = sort.startswith("-")
    return Order(known_field(sort[descending:]).name, descending)


def _fields(question: _Question) -> tuple[str, ...]:
    named = [asked.field for asked in question.ranges]
    by = question.order.by
    return tuple(dict.fromkeys([*named, *([by] if by not in (*BY_TIME, BY_RELEVANCE) else [])]))


def _seen(also: Mapping[str, tuple[str, ...]], hits: Sequence[Hit]) -> dict[str, tuple[str, ...]]:
    """Only the synonyms that stand in the lines."""
    lines = (line for hit in hits for line in hit.lines)
    marked = {tokens(line.text[first:last]) for line in lines for first, last in line.marks}
    seen = {
        said: tuple(o for o in others if any(occurs(Phrase(o, True), text) for text in marked))
        for said, others in also.items()
    }
    return {said: others for said, others in seen.items() if others}


def _loosened(index: Index, asked: Asked, question: _Question) -> Iterator[tuple[str, int]]:
    """Of several conditions each without which there are jobs, and how many."""
    replaced = dataclasses.replace
    query, ranges = question.query, question.ranges
    looser = [
        (word.text, replaced(question, query=(*query[:at], *query[at + 1 :])))
        for at, word in enumerate(typed(asked.words))
    ]
    looser += [
        (text, replaced(question, ranges=(*ranges[:at], *ranges[at + 1 :])))
        for at, text in enumerate(asked.where)
    ]
    looser += [
        (f"--outcome {asked.outcome}", replaced(question, outcome=None)),
        (f"--since {asked.since}", replaced(question, since=None)),
        (f"--until {asked.until}", replaced(question, until=None)),
    ]
    conditions = [(told, left) for told, left in looser if left != question]
    for told, left in conditions if len(conditions) > 1 else ():
        if number := left.count(index):
            yield told, number
