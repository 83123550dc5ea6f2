"""Whether two belts are the same: in what was asked, or in all that is told of both."""

from __future__ import annotations

import functools

from recorder.model.belt import BELT_FIELDS, SAME_MM, Belt, folded
from recorder.model.past import PastRun

Told = str | float | None


def same(asked: Belt, other: Belt) -> bool:
    """Whether the other is as asked for in everything that was asked; the rest may be anything."""
    return all(alike(value, getattr(other, name)) for name, value in asked.told().items())


def contradicts(asked: Belt, other: Belt) -> bool:
    """Whether anything that is told of both is another."""
    known = other.told()
    return any(name in known and not alike(v, known[name]) for name, v in asked.told().items())


def just(run: PastRun, belt: Belt) -> bool:
    """Whether a run was on this belt, and nothing more is told of one than of the other."""
    return all(alike(getattr(run, name), getattr(belt, name)) for name in BELT_FIELDS)


def alike(one: Told, other: Told) -> bool:
    """Of one field; words whatever the case and blanks, sizes to ``SAME_MM``."""
    if isinstance(one, str) and isinstance(other, str):
        return _folded(one) == _folded(other)
    if one is None or other is None or isinstance(one, str) or isinstance(other, str):
        return one is other
    return abs(one - other) < SAME_MM


@functools.lru_cache(maxsize=4096)
def _folded(text: str) -> str:
    return folded(text)
