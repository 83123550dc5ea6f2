"""A job that was found, as the page of the archive shows it."""

from __future__ import annotations

from pydantic import AwareDatetime

from recorder.archive.finding.search import Hit
from recorder.archive.finding.snippets import Line
from recorder.archive.sharing.table import unit_in, value_in
from recorder.flows.find import Found
from recorder.model.base import Value
from recorder.model.fields import FIELDS, choice_label
from recorder.model.reading import show_value
from recorder.model.units import show
from recorder.web.pages.dates import clock
from recorder.web.pages.rendering import short

LONGEST_TITLE = 160


class Said(Value):
    """A line that matches. parts: its text, cut so that each is a match or none. at: where it was
    heard, '' where it was not.
    """

    label: str
    parts: tuple[tuple[str, bool], ...]
    at: str


class Row(Value):
    """values: label and value of each field that was asked for."""

    id: str
    title: str
    began_at: AwareDatetime
    outcome: str
    complete: bool
    values: tuple[tuple[str, str], ...]
    said: tuple[Said, ...]


def rows(found: Found) -> tuple[Row, ...]:
    return tuple(_row(hit, found) for hit in found.hits)


def _row(hit: Hit, found: Found) -> Row:
    fields = [name for name in found.fields if hit.matched.get(name)]
    return Row(
        id=hit.id,
        title=short(hit.title, LONGEST_TITLE),
        began_at=hit.created_at,
        outcome=choice_label(hit.outcome) if hit.outcome else "",
        complete=hit.complete,
        values=tuple((FIELDS[name].label, _values(name, hit, found)) for name in fields),
        said=tuple(_said(line) for line in hit.lines),
    )


def _values(name: str, hit: Hit, found: Found) -> str:
    shown = (_shown(name, value, found) for value in hit.matched[name])
    return ", ".join(dict.fromkeys(shown))


def _shown(name: str, value: bool | float | str, found: Found) -> str:
    unit = unit_in(name, found.units)
    if unit is None or isinstance(value, (bool, str)):
        return show_value(name, value)
    return show(float(str(value_in(name, value, found.units))), unit)


def _said(line: Line) -> Said:
    parts: list[tuple[str, bool]] = []
    end = 0
    for first, last in line.marks:
        parts += [(line.text[end:first], False), (line.text[first:last], True)]
        end = last
    parts.append((line.text[end:], False))
    heard = line.start_s is not None
    return Said(
        label=line.label,
        parts=tuple(part for part in parts if part[0]),
        at=f"{line.file} at {clock(line.start_s)}" if heard else "",
    )
