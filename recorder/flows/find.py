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

from recorder.archive.disk.home import Home
from recorder.archive.finding.asked import Conditions, Order
from recorder.archive.finding.fields import known_field
from recorder.archive.finding.folding import tokens
from recorder.archive.finding.meaning import Meaning, corrected, meaning
from recorder.archive.finding.saved import Asked, saved_search
from recorder.archive.finding.search import Hit, count, search
from recorder.archive.finding.synonyms import synonyms
from recorder.archive.finding.typos import near_names
from recorder.archive.finding.words import occurs, typed
from recorder.archive.index.index import Index
from recorder.archive.index.text import Phrase, Query
from recorder.errors import BadValue, UnknownField
from recorder.flows.conditions import condition
from recorder.flows.moments import stretch
from recorder.flows.progress import Progress, rebuilding
from recorder.flows.wanted_units import wanted_units
from recorder.model.fields import near_or_all
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading

SHOWN = 50  # jobs, where nobody says how many
ALL = 1_000_000_000
MOST_TRIED = 8  # conditions that are left out one after another; each costs a search
BY_TIME = ("newest", "oldest")
BY_RELEVANCE = "relevance"


@dataclass(frozen=True)
class Found:
    """The answer to a search.

    more: whether there are others beyond the limit. fields: those that a condition or the order
    names, which ``Hit.matched`` tells of. units: the wanted one by dimension. also: the synonyms
    of a word that stand in the lines of the hits. instead: what was looked for in place of a word
    that no job holds. without: where nothing was found, how many jobs there are when one condition
    is left out, by that condition; none that helps nothing. unread: job folders that could not be
    read, so that the answer may lack them.
    """

    hits: tuple[Hit, ...]
    more: bool
    fields: tuple[str, ...]
    units: Mapping[str, str]
    also: Mapping[str, tuple[str, ...]]
    instead: Mapping[str, tuple[str, ...]]
    without: Mapping[str, int]
    unread: int


@dataclass(frozen=True)
class Selected:
    """ids: of the jobs. instead, unread: as in ``Found``."""

    ids: tuple[str, ...]
    instead: Mapping[str, tuple[str, ...]]
    unread: int


@dataclass(frozen=True)
class _Answer:
    conditions: Conditions
    meant: Meaning
    hits: tuple[Hit, ...]
    without: Mapping[str, int]
    unread: int


def find(
    home: Home, asked: Asked, everything: bool = False, progress: Progress | None = None
) -> Found:
    """everything: not only the first few where no limit is asked for. progress: of making the
    index anew, where that is needed.

    Raises UnknownField, UnknownUnit, BadValue or WrongUse for a wrong condition, BadSynonyms,
    and what the index raises.
    """
    units = wanted_units(asked.units)
    limit = asked.limit or (ALL if everything else SHOWN)
    answer = _answer(home, asked, limit + 1, True, progress)
    return Found(
        hits=answer.hits[:limit],
        more=len(answer.hits) > limit,
        fields=_fields(answer.conditions, _order(asked)),
        units=units,
        also=_seen(answer.meant.also, answer.hits[:limit]),
        instead=answer.meant.instead,
        without=answer.without,
        unread=answer.unread,
    )


def selected(home: Home, asked: Asked, progress: Progress | None = None) -> Selected:
    """All jobs that are asked for, in the order that is asked for. Raises as ``find``."""
    answer = _answer(home, asked, asked.limit or ALL, False, progress)
    ids = tuple(hit.id for hit in answer.hits)
    return Selected(ids, answer.meant.instead, answer.unread)


def with_saved(home: Home, name: str | None, asked: Asked) -> Asked:
    """What is asked, on top of a saved search where one is named. Raises UnknownSearch,
    BadSearches.
    """
    return saved_search(home, name).narrowed(asked) if name is not None else asked


def _answer(
    home: Home, asked: Asked, limit: int, for_people: bool, progress: Progress | None
) -> _Answer:
    """for_people: with snippets, and with what to leave out where nothing is found."""
    same = synonyms(home.synonyms)
    meant = meaning(asked.words, same)
    conditions, order = _conditions(asked, meant.query), _order(asked)
    with Index.open(home, rebuilding(progress)) as index:
        hits = search(index, conditions, order, limit, for_people)
        if not hits and (better := corrected(asked.words, same, index)):
            meant, conditions = better, dataclasses.replace(conditions, query=better.query)
            hits = search(index, conditions, order, limit, for_people)
        helpful = for_people and not hits
        without = dict(_loosened(index, asked, conditions)) if helpful else {}
        return _Answer(conditions, meant, hits, without, len(index.damaged))


def _conditions(asked: Asked, query: Query) -> Conditions:
    outcome = asked.outcome and str(typed_reading("outcome", asked.outcome, Typed()).value)
    return Conditions(
        query=query,
        ranges=tuple(map(condition, asked.where)),
        outcome=outcome,
        since=stretch(asked.since, "since")[0] if asked.since is not None else None,
        until=stretch(asked.until, "until")[1] if asked.until is not None else None,
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
    try:
        return Order(known_field(sort[descending:]).name, descending)
    except UnknownField as error:
        near = near_names(sort, [(order, order) for order in (*BY_TIME, BY_RELEVANCE)])
        if not near:
            raise
        raise UnknownField(wanted=sort, near=near_or_all(near)) from error


def _fields(conditions: Conditions, order: Order) -> tuple[str, ...]:
    named = [asked.field for asked in conditions.ranges]
    by_field = [order.by] if order.by not in (*BY_TIME, BY_RELEVANCE) else []
    return tuple(dict.fromkeys((*named, *by_field)))


def _seen(also: Mapping[str, tuple[str, ...]], hits: Sequence[Hit]) -> dict[str, tuple[str, ...]]:
    """Only the synonyms that stand in the lines."""
    lines = (line for hit in hits for line in hit.lines)
    marked = {tokens(line.text[first:last]) for line in lines for first, last in line.marks}
    seen = {
        said: tuple(o for o in others if any(occurs(Phrase(o, True), text) for text in marked))
        for said, others in also.items()
    }
    return {said: others for said, others in seen.items() if others}


def _loosened(index: Index, asked: Asked, all_of: Conditions) -> Iterator[tuple[str, int]]:
    """Of several conditions each without which there are jobs, and how many."""
    without = dataclasses.replace
    query, ranges = all_of.query, all_of.ranges
    looser = [
        (word.text, without(all_of, query=(*query[:at], *query[at + 1 :])))
        for at, word in enumerate(typed(asked.words))
    ]
    looser += [
        (text, without(all_of, ranges=(*ranges[:at], *ranges[at + 1 :])))
        for at, text in enumerate(asked.where)
    ]
    looser += [
        (f"--outcome {asked.outcome}", without(all_of, outcome=None)),
        (f"--since {asked.since}", without(all_of, since=None)),
        (f"--until {asked.until}", without(all_of, until=None)),
    ]
    some = [(told, left) for told, left in looser if left != all_of]
    for told, left in some if 1 < len(some) <= MOST_TRIED else ():
        if number := count(index, left):
            yield told, number
