"""Whether two belts are the same: in what was asked, or in all that is told of both."""

from __future__ import annotations

import functools
import math

from recorder.model.belt import Belt

Told = str | float | None


def folded(text: str) -> str:
    """A name without what people write one way or the other: capitals and blanks."""
    return " ".join(text.casefold().split())


def same(asked: Belt, other: Belt) -> bool:
    """Whether the other is as asked for in everything that was asked; the rest may be anything."""
    return all(alike(value, getattr(other, name)) for name, value in asked.told().items())


def contradicts(asked: Belt, other: Belt) -> bool:
    """Whether anything that is told of both is another."""
    known = other.told()
    return any(name in known and not alike(v, known[name]) for name, v in asked.told().items())


def alike(one: Told, other: Told) -> bool:
    """Of one field; words whatever the case, numbers but for what conversion leaves."""
    if isinstance(one, str) and isinstance(other, str):
        return _folded(one) == _folded(other)
    if one is None or other is None or isinstance(one, str) or isinstance(other, str):
        return one is other
    return math.isclose(one, other, rel_tol=1e-9)


@functools.lru_cache(maxsize=4096)
def _folded(text: str) -> str:
    return folded(text)
