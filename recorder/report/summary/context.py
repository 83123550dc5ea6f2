"""Everything that the template of a summary may use, declared: one ``Summary``, named ``report``.

All texts are ready for a person, as in ``recorder/report/content/context.py``; a test holds the
template and these names together.
"""

from __future__ import annotations

from recorder.model.base import Value
from recorder.report.content.frame import Document, Mark
from recorder.report.content.text import Text


class Column(Value):
    """heading: of a column. kind: style class, which gives it its width; 'any' for the rest."""

    heading: Text
    kind: str


class Row(Value):
    """One line of a table, its cells in the order of the columns; the first one names it."""

    cells: tuple[Text, ...]


class Table(Value):
    """remark: what it leaves out, in words, or empty."""

    heading: Text
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    remark: Text = ""


class Chart(Value):
    """A picture with what it says. src: address of the drawing. alt: for readers who do not see
    it. small: made for a part of the width. remark: what stands below: limits and signals, or
    empty. table: what is drawn, in numbers.
    """

    src: str
    alt: Text
    small: bool
    remark: Text
    table: Table


class Summary(Document):
    """The whole document.

    month: 'October 2026'. scope: for whom, and of which splices it tells. written_on: day.
    headline: what became of the splices; kind: its style class, 'accepted', 'rejected' or 'open'.
    share: how sure the share of accepted ones is. counts: of jobs, splices by outcome, photos.
    points: what needs a look, in words. outcomes: months up to this one, None without a splice.
    charts: over time. against: settings against the gap. uncharted: why a chart is missing, or
    how many are, or empty. splices: of the month. checks: due of presses and templates, None for
    a customer and where none is.
    """

    month: Text
    scope: Text
    written_on: Text
    headline: Text
    kind: str
    share: Text
    counts: tuple[Mark, ...]
    points: tuple[Mark, ...]
    outcomes: Chart | None
    charts: tuple[Chart, ...]
    against: tuple[Chart, ...]
    uncharted: Text
    splices: Table | None
    checks: Table | None
