"""The form for a belt, as an address holds it, and back."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.datastructures import QueryParams

from recorder.model.base import Value
from recorder.model.belt import BELT_FIELDS, Belt
from recorder.model.fields import FIELDS
from recorder.model.reading import Typed
from recorder.notes.typed import typed_reading
from recorder.web.jobs.values import Entry, entry_of
from recorder.web.knowhow.amounts import exact

LONGEST = 200  # characters of a value that anybody types here


class Line(Value):
    """One field of the form. typed: as it stands there."""

    name: str
    label: str
    typed: str
    entry: Entry


def asked_for(query: QueryParams) -> bool:
    """Whether the address tells anything of a belt."""
    return any(query.get(name, "").strip() for name in BELT_FIELDS)


def belt_of(query: QueryParams) -> Belt:
    """Raises BadValue, UnknownUnit."""
    texts = {name: query.get(name, "")[:LONGEST].strip() for name in BELT_FIELDS}
    told = {name: typed_reading(name, text, Typed()).value for name, text in texts.items() if text}
    return Belt.model_validate(told)


def lines(query: QueryParams) -> tuple[Line, ...]:
    """The form as it was filled in."""
    return _lines({name: query.get(name, "")[:LONGEST] for name in BELT_FIELDS})


def lines_of(belt: Belt) -> tuple[Line, ...]:
    """The form filled in with a belt."""
    return _lines(texts_of(belt))


def texts_of(belt: Belt) -> dict[str, str]:
    """What a person would type for it."""
    return {name: exact(name, value) for name, value in belt.told().items()}


def address(belt: Belt, units: tuple[str, ...] = ()) -> str:
    """Of the page that tells what was used on it."""
    return f"/recipes?{urlencode([*texts_of(belt).items(), *(('unit', u) for u in units)])}"


def jobs_on(belt: Belt, outcome: str = "") -> str:
    """Address of the jobs on such a belt in the archive."""
    pairs = [("where", f"{name}={text}") for name, text in texts_of(belt).items()]
    pairs += [("outcome", outcome)] if outcome else []
    return f"/archive?{urlencode(pairs)}"


def _lines(texts: dict[str, str]) -> tuple[Line, ...]:
    return tuple(
        Line(
            name=name,
            label=FIELDS[name].label,
            typed=texts.get(name, ""),
            entry=entry_of(name),
        )
        for name in BELT_FIELDS
    )
