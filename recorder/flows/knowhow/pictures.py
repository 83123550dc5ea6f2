"""Charts as pictures: for the terminal's files, and with what they say for a page of the report."""

from __future__ import annotations

from collections.abc import Sequence

from recorder.knowhow.charts import control, outcomes
from recorder.knowhow.charts import scatter as scattered
from recorder.knowhow.trends.chart import Chart, Month, Scatter
from recorder.model.fields import FIELDS
from recorder.model.units import UNITS
from recorder.model.words import ENGLISH
from recorder.report.page import svg


def of_chart(chart: Chart, unit: str | None = None) -> str:
    """As SVG, in English. unit: wanted by the reader, where it is one of the chart's dimension."""
    return control.svg(chart, ENGLISH, fitting(chart.unit, unit))


def of_months(months: Sequence[Month]) -> str:
    return outcomes.svg(months, ENGLISH)


def of_scatter(scatter: Scatter, unit: str | None = None) -> str:
    """unit: wanted by the reader, where the setting can be in it."""
    return scattered.svg(scatter, ENGLISH, fitting(str(FIELDS[scatter.field].unit), unit))


def png(drawing: str, width_px: int) -> bytes:
    """Raises EngineMissing, PageFailed."""
    return svg.png_of(drawing, width_px)


def fitting(unit: str, wanted: str | None) -> str | None:
    """The wanted unit, where it is one of the same dimension."""
    if wanted is None or UNITS[wanted].dimension != UNITS[unit].dimension:
        return None
    return wanted
