"""The jobs that a search found as a table for other programs, one row a job."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TextIO

from recorder.archive.finding.search import Hit
from recorder.archive.index.rows import MAIN_FIELDS
from recorder.archive.sharing.table import (
    Cell,
    Units,
    heading,
    in_words,
    value_in,
    write_csv,
)

_ABOUT = ("id", "created_at", "customer", "outcome", "complete")
_WHERE = ("found", "sound_file", "sound_s", "path")


def write_hits(file: TextIO, hits: Sequence[Hit], fields: Sequence[str], units: Units) -> None:
    """What tells jobs apart, their main values, and what matched.

    The main values are those of the last run of the last splice. fields: that were asked for; the
    column ``matched_...`` of each holds the values that fulfil it, of any splice and run, several
    with semicolons between them. file: opened with ``newline=""``.
    """
    headings = [
        *_ABOUT,
        *(heading(field, units) for field in MAIN_FIELDS),
        *(f"matched_{heading(field, units)}" for field in fields),
        *_WHERE,
    ]
    write_csv(file, headings, (_row(hit, fields, units) for hit in hits))


def _row(hit: Hit, fields: Sequence[str], units: Units) -> list[Cell]:
    return [
        *(hit.id, hit.created_at, hit.customer, hit.outcome, hit.complete),
        *(value_in(field, hit.values.get(field), units) for field in MAIN_FIELDS),
        *(_matched(field, hit, units) for field in fields),
        *(hit.snippet, hit.sound_file, hit.sound_s, str(hit.path)),
    ]


def _matched(field: str, hit: Hit, units: Units) -> Cell:
    values = [value_in(field, value, units) for value in hit.matched.get(field, ())]
    if len(values) < 2:
        return next(iter(values), None)
    return "; ".join(map(in_words, values))
