"""Searches that a person gave a name, kept in the home as they were typed."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError

from recorder.archive.disk import atomic, lock
from recorder.archive.disk.home import Home, cause
from recorder.archive.finding.typos import near_names
from recorder.errors import BadSearches, BadValue, UnknownSearch
from recorder.model.base import Value
from recorder.settings import first_fault

LONGEST_NAME = 60
_EMPTY = "no search is saved yet: 'seamnote search --save NAME WORD...' does it"


class Asked(Value):
    """What is asked of the archive, as a person writes it.

    words: each must occur. where: conditions. since, until: dates. sort: newest, oldest,
    relevance, a field, or a field after '-'. units: to show values in. limit: of jobs. None, or
    nothing, where it was not said.
    """

    words: str = ""
    where: tuple[str, ...] = ()
    outcome: str | None = None
    since: str | None = None
    until: str | None = None
    sort: str | None = None
    units: tuple[str, ...] = ()
    limit: int | None = Field(None, ge=1)

    def narrowed(self, more: Asked) -> Asked:
        """Words and conditions of both; of what there can be one, that of ``more``."""
        changes = more.model_dump(exclude_none=True)
        joined = {
            "words": " ".join(filter(None, (self.words, more.words))),
            "where": (*self.where, *more.where),
            "units": (*self.units, *more.units),
        }
        return self.model_copy(update=changes | joined)


class _File(Value):
    version: Literal[1] = 1
    searches: dict[str, Asked] = {}


def saved_searches(home: Home) -> dict[str, Asked]:
    """All of a home, by name in alphabetical order. Raises BadSearches."""
    return dict(sorted(_read(home.searches).searches.items()))


def saved_search(home: Home, name: str) -> Asked:
    """Raises UnknownSearch, which names the near ones, and BadSearches."""
    return _known(name, saved_searches(home))


def save_search(home: Home, name: str, asked: Asked) -> bool:
    """Keep it; whether it took the place of another one.

    Raises BadValue for a name that cannot be one, BadSearches, OutputUnwritable, Busy.
    """
    if not name.strip() or not name.isprintable() or len(name) > LONGEST_NAME:
        hint = f"give up to {LONGEST_NAME} letters, digits and blanks"
        raise BadValue(value=name[:LONGEST_NAME], field="the name of a search", hint=hint)
    with lock.held(home.searches):
        known = _read(home.searches).searches
        _write(home.searches, known | {name: asked})
    return name in known


def forget_search(home: Home, name: str) -> None:
    """Raises UnknownSearch, BadSearches, OutputUnwritable, Busy."""
    with lock.held(home.searches):
        known = _read(home.searches).searches
        _known(name, known)
        _write(home.searches, {other: known[other] for other in known if other != name})


def _known(name: str, known: dict[str, Asked]) -> Asked:
    if name in known:
        return known[name]
    near = near_names(name, [(other, other.lower()) for other in known])
    told = _EMPTY
    if near:
        told = f"did you mean {' or '.join(map(repr, near))}?"
    elif known:
        told = f"there are {', '.join(map(repr, known))}"
    raise UnknownSearch(wanted=name, near=told)


def _read(path: Path) -> _File:
    try:
        return _File.model_validate_json(path.read_bytes())
    except FileNotFoundError:
        return _File()
    except OSError as error:
        raise BadSearches(path=path, detail=cause(error)) from error
    except ValidationError as error:
        raise BadSearches(path=path, detail=first_fault(error)) from error


def _write(path: Path, searches: dict[str, Asked]) -> None:
    atomic.sweep(path)
    content = _File(searches=searches).model_dump_json(indent=2, exclude_none=True)
    atomic.write(path, f"{content}\n".encode())
