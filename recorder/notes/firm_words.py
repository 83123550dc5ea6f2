"""A firm's own words: ``vocabulary.toml`` in the home, with the tables of the shipped file.

Its entries are added to the shipped ones. A table or list that the shipped file does not have is
refused, unless it is named after a field, a unit or a choice of the catalogue.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from recorder.errors import BadVocabulary
from recorder.model.fields import FIELDS, Kind
from recorder.model.units import UNITS


def _of_kind(*kinds: Kind) -> frozenset[str]:
    return frozenset(name for name, field in FIELDS.items() if field.kind in kinds)


_NAMES = _of_kind(Kind.TEXT)
_FOUND = _of_kind(Kind.FLAG, Kind.CHOICE)
# What the keys of a table are names of; in all other tables they are those of the shipped file.
_NAMED: Mapping[str, frozenset[str]] = {
    **dict.fromkeys(("units", "short_units", "unit_homophones"), frozenset(UNITS)),
    "fields": _of_kind(Kind.QUANTITY),
    "flags": _of_kind(Kind.FLAG),
    **dict.fromkeys(("choices", "loose"), _of_kind(Kind.CHOICE)),
    "answered": _FOUND,
    "subjects": _FOUND,
    **dict.fromkeys(("identifiers", "numbered", "names"), _NAMES),
}
_UNITS_LISTED = "unsaid_units"


def with_own(shipped: Mapping[str, Any], path: Path) -> Mapping[str, Any]:
    """The shipped tables with those of the firm's file; the same when there is no such file.

    Raises BadVocabulary with the place in the file.
    """
    try:
        own = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        return shipped
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise BadVocabulary(path=path, detail=str(error)) from error
    try:
        whole: Mapping[str, Any] = _joined(shipped, own, ())
    except _Fault as fault:
        raise BadVocabulary(path=path, detail=str(fault)) from fault
    return whole


class _Fault(Exception):
    def __init__(self, place: tuple[str, ...], complaint: str) -> None:
        super().__init__(f"{'.'.join(place)}: {complaint}")


def _joined(shipped: Any, own: Any, place: tuple[str, ...]) -> Any:
    if isinstance(shipped, Mapping):
        if not isinstance(own, Mapping):
            raise _Fault(place, "this must be a table")
        whole = dict(shipped)
        for key, value in own.items():
            whole[key] = _joined(_place_for(shipped, key, (*place, key)), value, (*place, key))
        return whole
    if isinstance(shipped, str):
        return f"{shipped} {_phrase(own, place)}".strip()
    if not isinstance(own, list):
        raise _Fault(place, "this must be a list")
    if place == ("groups",):
        return [*shipped, *(_group(group, place) for group in own)]
    phrases = [_phrase(phrase, place) for phrase in own]
    if place[0] == _UNITS_LISTED and not set(phrases) <= UNITS.keys():
        raise _Fault(place, "this must be a list of units")
    return [*shipped, *(phrase for phrase in phrases if phrase not in shipped)]


def _place_for(shipped: Mapping[str, Any], key: str, place: tuple[str, ...]) -> Any:
    """What the firm's entry is added to: the shipped one, or an empty one of the same shape."""
    if key in shipped:
        return shipped[key]
    table = place[0]
    if len(place) == 2 and key in _NAMED.get(table, ()):
        return _empty_like(list(shipped.values()))
    if len(place) == 2 and table == "number_doubts":
        return []
    if len(place) == 3 and table in ("fields", "flags", "choices", "loose", "answered"):
        return _part_of(table, place)
    raise _Fault(place, "there is no such entry")


def _part_of(table: str, place: tuple[str, ...]) -> list[str]:
    """A list inside the table of a field: one of its choices, or a manner of naming it."""
    field, key = place[1:]
    choices = FIELDS[field].choices
    allowed = choices if choices else _MANNERS[table]
    if key not in allowed:
        raise _Fault(place, f"use one of {', '.join(allowed)}")
    return []


_MANNERS: Mapping[str, tuple[str, ...]] = {
    "fields": (
        *("words", "weak", "after", "homophones", "weak_homophones", "homophones_after"),
        "not_before",
    ),
    "flags": ("yes", "no", "heard_yes", "heard_no"),
    "answered": ("yes", "no"),
}


def _empty_like(others: list[Any]) -> Any:
    """Where the others are tables, those lists that all of them have."""
    if not isinstance(others[0], Mapping):
        return []
    return {key: [] for key in others[0] if all(key in other for other in others)}


def _group(group: Any, place: tuple[str, ...]) -> dict[str, list[str]]:
    if not isinstance(group, Mapping):
        raise _Fault(place, "this must be a list of tables")
    for key in group:
        if key not in ("fields", *_MANNERS["fields"]):
            raise _Fault((*place, key), "there is no such entry")
    lists: dict[str, list[str]] = {}
    for key, value in group.items():
        if not isinstance(value, list):
            raise _Fault((*place, key), "this must be a list")
        lists[key] = [_phrase(phrase, (*place, key)) for phrase in value]
    if len(lists.get("fields", ())) < 2 or not set(lists["fields"]) <= _NAMED["fields"]:
        raise _Fault((*place, "fields"), "name two fields or more that are quantities")
    return lists


def _phrase(value: Any, place: tuple[str, ...]) -> str:
    if not isinstance(value, str) or not value.split():
        raise _Fault(place, "these must be words in quotes")
    plain = " ".join(value.split())
    return plain if place[0] in ("prompt", _UNITS_LISTED) else plain.lower()
