"""Press runs of past jobs out of the index: on one belt, with one press, of one month."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, func, literal, select

from recorder.archive.index.database import Row
from recorder.archive.index.index import Index
from recorder.archive.index.keys import first_key
from recorder.archive.index.schema import BELTS, JOBS, RUNS
from recorder.model.belt import BELT_FIELDS, SAME_MM, Belt, folded
from recorder.model.past import STREAMS, PastRun

MOST_BELTS = 300  # among which the nearest ones are looked for
_WIDTH = 0.25  # that it counts beside other sizes: a press heats all of it alike

_FIELDS = tuple(name for name in PastRun.__slots__ if name not in ("job", "at"))
_RUN = select(JOBS.c.id, JOBS.c.created_at, *(RUNS.c[name] for name in _FIELDS)).join_from(
    RUNS, JOBS, RUNS.c.job == JOBS.c.key
)
_GAP_BELOW = _FIELDS.index("gap_below")
_BY_TIME = (RUNS.c.job, RUNS.c.splice, RUNS.c.run)


class Past:
    """The press runs in an open index, oldest first. but: id of a job that does not count. Names
    and materials are compared without regard to capitals and white space. All raise as the index.
    """

    def __init__(self, index: Index) -> None:
        self._database = index.database

    def runs_on(self, belt: Belt, but: str | None = None) -> list[PastRun]:
        """Those on belts that are this one in everything that it tells; none where it tells
        nothing.
        """
        same = _same(belt)
        if not same:
            return []
        belts = select(BELTS.c.key).where(*same)
        return self._runs(_RUN.where(RUNS.c.belt.in_(belts)), but)

    def belts(
        self, like: Belt | None = None, most: int = MOST_BELTS, but: str | None = None
    ) -> list[tuple[Belt, int]]:
        """Belts that were pressed, as they were written last, each with its number of runs. like:
        those that have most in common with it come first, by a rough measure.
        """
        known = [] if like is None else self._materials_like(like)
        order = (_apart(like, known), BELTS.c.key) if like is not None else (BELTS.c.key,)
        nearest = select(BELTS.c.key).order_by(*order).limit(most)
        keys = [row[0] for row in self._database.rows(nearest)]
        on = and_(RUNS.c.belt == BELTS.c.key, *self._others(but))
        count = select(func.count()).select_from(RUNS).where(on).scalar_subquery()
        last = RUNS.c.job.desc()
        material = select(RUNS.c.belt_material).where(on).order_by(last).limit(1).scalar_subquery()
        sizes = (BELTS.c[name] for name in BELT_FIELDS[1:])
        told = select(BELTS.c.key, count, material, *sizes).where(BELTS.c.key.in_(keys))
        found = {row[0]: row[1:] for row in self._database.rows(told)}
        return [
            (Belt(**dict(zip(BELT_FIELDS, belt, strict=True))), runs)
            for runs, *belt in (found[key] for key in keys)
            if runs
        ]

    def runs_of(
        self,
        stream: str,
        name: str,
        since: datetime | None = None,
        until: datetime | None = None,
        but: str | None = None,
    ) -> list[PastRun]:
        """Those of one press, template, technician or customer, from ``since`` to before
        ``until``.
        """
        of = _RUN.where(_key(stream) == folded(name), *_between(since, until))
        return self._runs(of, but)

    def newest(self, stream: str, name: str, count: int, but: str | None = None) -> list[PastRun]:
        """The last so many of ``runs_of``."""
        of = _RUN.where(_key(stream) == folded(name), *self._others(but))
        last = of.order_by(*(column.desc() for column in _BY_TIME)).limit(count)
        return _past_runs(self._database.rows(last)[::-1])

    def runs_between(
        self,
        since: datetime | None = None,
        until: datetime | None = None,
        customer: str | None = None,
        but: str | None = None,
    ) -> list[PastRun]:
        """Those of jobs made from ``since`` to before ``until``, of all customers or one."""
        of = _RUN.where(*_between(since, until))
        if customer is not None:
            of = of.where(RUNS.c.customer_key == folded(customer))
        return self._runs(of, but)

    def names_of(self, stream: str, but: str | None = None) -> list[tuple[str, int]]:
        """The names in a stream as they were written last, with their numbers of runs; the one
        with most runs first.
        """
        key, name = _key(stream), RUNS.c[stream]
        others = self._others(but)
        named = (
            select(key.label("key"), func.count().label("runs"), func.max(RUNS.c.job).label("job"))
            .where(key.isnot(None), *others)
            .group_by(key)
            .subquery()
        )
        last = RUNS.alias("last")
        written = (
            select(last.c[stream])
            .where(last.c.job == named.c.job, last.c[name.name + "_key"] == named.c.key)
            .order_by(last.c.splice.desc(), last.c.run.desc())
            .limit(1)
            .scalar_subquery()
        )
        found = select(written, named.c.runs).order_by(named.c.runs.desc(), named.c.key)
        return [(str(row[0]), int(row[1])) for row in self._database.rows(found)]

    def _runs(self, chosen: Select[Any], but: str | None) -> list[PastRun]:
        ordered = chosen.where(*self._others(but)).order_by(*_BY_TIME)
        return _past_runs(self._database.rows(ordered))

    def _others(self, but: str | None) -> Sequence[ColumnElement[bool]]:
        """That a run is of another job."""
        if but is None:
            return ()
        found = self._database.rows(select(JOBS.c.key).where(JOBS.c.id == but))
        return [RUNS.c.job != row[0] for row in found]

    def _materials_like(self, belt: Belt) -> list[list[str]]:
        """Materials with words in common with that of the belt, folded: first those with most of
        them, then those with fewer.
        """
        words = _words(folded(belt.belt_material or ""))
        if not words:
            return []
        known = select(BELTS.c.belt_material).where(BELTS.c.belt_material.isnot(None)).distinct()
        by_shared: dict[int, list[str]] = {}
        for (material,) in self._database.rows(known):
            by_shared.setdefault(len(words & _words(material)), []).append(material)
        return [by_shared[shared] for shared in sorted(by_shared, reverse=True) if shared]


def _past_runs(rows: Iterable[Row]) -> list[PastRun]:
    moment = datetime.fromisoformat
    return [
        PastRun(*(job, moment(at), *told[:_GAP_BELOW], bool(told[_GAP_BELOW])),
                *told[_GAP_BELOW + 1 :])
        for job, at, *told in rows
    ]  # fmt: skip


def _words(material: str) -> set[str]:
    """Words and numbers of a folded material: of 'tpu cv-120a' these are tpu, cv and 120a."""
    return set(re.findall(r"[^\W_]+", material))


def _key(stream: str) -> ColumnElement[str]:
    """The column with the folded names of a stream. ValueError for what is none."""
    if stream not in STREAMS:
        raise ValueError(f"{stream} is no stream; use {', '.join(STREAMS)}")
    column: ColumnElement[str] = RUNS.c[f"{stream}_key"]
    return column


def _between(since: datetime | None, until: datetime | None) -> list[ColumnElement[bool]]:
    found = [] if since is None else [RUNS.c.job >= first_key(since)]
    return found if until is None else [*found, RUNS.c.job < first_key(until)]


def _same(belt: Belt) -> list[ColumnElement[bool]]:
    """That a row of BELTS is this belt in everything that it tells."""
    return [
        BELTS.c[name].between(value - SAME_MM, value + SAME_MM)
        if isinstance(value, float)
        else BELTS.c[name] == (folded(value) if name == "belt_material" else value)
        for name, value in belt.told().items()
    ]


def _apart(like: Belt, materials: Sequence[Sequence[str]]) -> ColumnElement[float]:
    """How much a row of BELTS has not in common with a belt: each thing that differs counts 1, a
    size by its share, the material more than all of these. materials: the nearer ones first.
    """
    far: ColumnElement[float] = literal(0.0)
    for name, value in like.told().items():
        column = BELTS.c[name]
        if isinstance(value, float):
            share = func.abs(column - value) / max(value, SAME_MM)
            weight = _WIDTH if name == "belt_width" else 1.0
            far = far + weight * func.coalesce(case((share < 1.0, share), else_=1.0), 1.0)
        elif name == "belt_material":
            nearer = [(column.in_(group), 10.0 * rank) for rank, group in enumerate(materials, 1)]
            far = far + case((column == folded(value), 0.0), *nearer, else_=1000.0)
        else:
            far = far + case((column == value, 0.0), else_=1.0)
    return far
