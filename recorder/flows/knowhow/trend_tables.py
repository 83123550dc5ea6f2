"""Charts as tables for other programs: CSV, with the unit of each number in its heading."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence

from recorder.archive.sharing.table import Cell, write_csv
from recorder.knowhow.trends.chart import Chart, Month, Scatter
from recorder.model.fields import FIELDS


def of_chart(drawn: Chart) -> str:
    """Its points and limits, in the unit of the chart; the rules that each point breaks."""
    unit, found = drawn.unit, drawn.limits
    limits = (found.centre, found.lower, found.upper) if found else (None, None, None)
    broken: dict[int, list[str]] = {}
    for signal in drawn.signals:
        for at in range(signal.at if signal.first is None else signal.first, signal.at + 1):
            broken.setdefault(at, []).append(signal.rule)
    head = (
        "at", "job", "splice", f"{drawn.characteristic}_{unit}", f"U_{unit}", "below",
        f"moving_range_{unit}", "rules", f"centre_{unit}", f"lower_{unit}", f"upper_{unit}",
    )  # fmt: skip
    return _csv(
        head,
        (
            (
                point.at, point.job, point.splice, point.value, point.U, point.below,
                point.moving_range, " ".join(broken.get(at, ())), *limits,
            )
            for at, point in enumerate(drawn.points)
        ),
    )  # fmt: skip


def of_months(months: Iterable[Month]) -> str:
    return _csv(
        ("month", "accepted", "rework", "rejected", "open"),
        ((each.month, each.accepted, each.rework, each.rejected, each.open) for each in months),
    )


def of_scatter(scatter: Scatter) -> str:
    unit = FIELDS[scatter.field].unit
    return _csv(
        ("job", f"{scatter.field}_{unit}", "finger_gap_mm", "below", "outcome"),
        ((pair.job, pair.setting, pair.gap, pair.below, pair.outcome) for pair in scatter.pairs),
    )


def _csv(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    file = io.StringIO(newline="")
    write_csv(file, head, rows)
    return file.getvalue()
