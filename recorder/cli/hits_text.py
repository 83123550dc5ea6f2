"""Jobs that were found, as a table for a terminal and as JSON."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from recorder.archive.finding.search import Hit
from recorder.archive.finding.snippets import Line
from recorder.archive.sharing.table import Units, unit_in, value_in
from recorder.cli import columns
from recorder.cli.terminal import plain
from recorder.flows.find import Found
from recorder.model.reading import show_value
from recorder.model.units import show

SHORTEST_TITLE = 12  # characters that are left of a title on a narrow terminal
INDENT = " " * 12  # the width of a date and the gap after it
BOLD, PLAIN = "\x1b[1m", "\x1b[0m"
NONE = "-"


def table(found: Found, width: int | None, bold: bool) -> list[str]:
    """Lines: a heading, a row for each job, and under it where the words stand.

    width: of the terminal, None where there is none. bold: whether it can show matches so, else
    they stand in [ ].
    """
    fields = [f for f in found.fields if f != "outcome"]
    rows = [["date", "outcome", "job", *fields, "id"]]
    rows += [_row(hit, fields, found.units) for hit in found.hits]
    widths = [max(map(columns.width, column)) for column in zip(*rows, strict=True)]
    if width is not None:
        others = sum(widths) - widths[2] + 2 * (len(widths) - 1)
        widths[2] = min(widths[2], max(SHORTEST_TITLE, width - others))
    head, *body = [columns.line(row, widths) for row in rows]
    lines = [head]
    for row, hit in zip(body, found.hits, strict=True):
        lines.append(row if hit.complete else f"{row}  (interrupted)")
        lines += [_said(line, width, bold) for line in hit.lines]
    return lines


def as_json(hit: Hit, found: Found) -> dict[str, Any]:
    """The hit with its values in the wanted units, which are named beside them."""
    values = {name: value_in(name, value, found.units) for name, value in hit.values.items()}
    matched = {
        name: [value_in(name, value, found.units) for value in held]
        for name, held in hit.matched.items()
    }
    units = {name: unit_in(name, found.units) for name in (*values, *matched)}
    return {
        **hit.model_dump(mode="json"),
        "values": values,
        "matched": matched,
        "units": {name: unit for name, unit in units.items() if unit},
        "instead": {word: list(near) for word, near in found.instead.items()},
    }


def _row(hit: Hit, fields: Iterable[str], units: Units) -> list[str]:
    shown = [
        ", ".join(
            dict.fromkeys(_shown(field, value, units) for value in hit.matched.get(field, ()))
        )
        for field in fields
    ]
    return [
        _date(hit.created_at),
        _outcome(hit),
        hit.title,
        *(plain(text) or NONE for text in shown),
        hit.id,
    ]


def _date(at: datetime) -> str:
    """Here; where a clock was wrong, at the ends of the calendar, as it was told."""
    with contextlib.suppress(OverflowError, ValueError, OSError):
        at = at.astimezone()
    return at.date().isoformat()


def _outcome(hit: Hit) -> str:
    """Of the job, and in brackets what was asked for and holds for another splice of it."""
    others = ", ".join(o for o in map(str, hit.matched.get("outcome", ())) if o != hit.outcome)
    return f"{hit.outcome or NONE} ({others})" if others else hit.outcome or NONE


def _shown(field: str, value: bool | float | str, units: Units) -> str:
    unit = unit_in(field, units)
    if unit is None or isinstance(value, (bool, str)):
        return show_value(field, value)
    return show(float(str(value_in(field, value, units))), unit)


def _said(line: Line, width: int | None, bold: bool) -> str:
    """A line that matches: what it is, its text, and where it was heard."""
    begin, end = (BOLD, PLAIN) if bold else ("[", "]")
    place = f"   {plain(str(line.file))} {clock(line.start_s)}" if line.start_s is not None else ""
    before = f"{INDENT}{line.label}: "
    if width is not None:
        marks = 0 if bold else len("[]") * len(line.marks)
        line = line.cut(max(SHORTEST_TITLE, width - len(before) - len(place) - marks - len("……")))
    return f"{before}{line.marked(begin, end)}{place}"


def clock(seconds: float) -> str:
    """'2:05'"""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
