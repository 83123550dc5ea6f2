"""What past jobs show over time, as lines for a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from recorder.cli.columns import aligned, width
from recorder.cli.terminal import plain
from recorder.flows.knowhow.trends import Line, drifts
from recorder.knowhow.trends.chart import Characteristic, Chart, Month, Point, Scatter, Signal
from recorder.knowhow.trends.observed import label, stream_label
from recorder.knowhow.trends.rules import LETTERS
from recorder.model.fields import FIELDS
from recorder.model.past import STREAMS
from recorder.model.units import UNITS, convert, with_symbol

MOST_NAMES = 20  # of one stream in the table
MOST_SIGNALS = 10
DRIFT, BROKEN = "▲", "*"


def overview(lines: Sequence[Line]) -> list[str]:
    """A row for each press, template and so on, with its number of points under each
    characteristic; then what their newest points signal.
    """
    names: dict[tuple[str, str], dict[Characteristic, Line]] = {}
    for line in lines:
        names.setdefault((line.stream, line.name), {})[line.characteristic] = line
    charted = [each for each in Characteristic if any(each in row for row in names.values())]
    rows = [["", *(label(each).lower() for each in charted)]]
    left = []
    for stream in STREAMS:
        of_stream = [name for at, name in names if at == stream]
        for name in of_stream[:MOST_NAMES]:
            cells = map(names[stream, name].get, charted)
            rows.append([plain(stream_label(stream, name)), *map(_cell, cells)])
        if len(of_stream) > MOST_NAMES:
            left.append(f"{len(of_stream) - MOST_NAMES} more by {stream}; --json lists all")
    told = [*_aligned(rows), *left]
    signals = [_signal(line, line.newest) for line in lines if line.newest]
    return [*told, *(["", *signals] if signals else [])]


def chart(drawn: Chart, unit: str | None) -> list[str]:
    """Its limits, its newest point and its signals. unit: wanted by the reader, where it fits."""
    to = in_unit(drawn.unit, unit)
    title = f"{label(drawn.characteristic)}, {plain(stream_label(drawn.stream, drawn.name))}"
    if not drawn.points:
        return [f"{title}: no job tells it yet"]
    first, last = drawn.points[0], drawn.points[-1]
    points = len(drawn.points)
    lines = [f"{title}: {points} point{'s' if points > 1 else ''}, {_day(first)} to {_day(last)}"]
    lines.append(f"newest   {_value(last, drawn.unit, to)}  {_where(last)}")
    if drawn.limits is None:
        lines.append(
            "limits   none: they need two points in a row that are measured, and no upper bounds"
        )
    else:
        low, centre, high, spread, most = (
            scaled(each, drawn.unit, to, finer=1)
            for each in (
                drawn.limits.lower, drawn.limits.centre, drawn.limits.upper,
                drawn.limits.range_centre, drawn.limits.range_upper,
            )
        )  # fmt: skip
        sure = ", provisional" if drawn.limits.provisional else ""
        lines += [
            f"limits   {low} to {high}, centre {centre}; from the first {drawn.limits.baseline}"
            f" points{sure}",
            f"ranges   from point to point {spread} on average, at most {most}",
        ]
    newest_first = sorted(drawn.signals, key=lambda each: -each.at)
    lines += ["signals  " + _told(each, drawn.points) for each in newest_first[:MOST_SIGNALS]]
    if len(newest_first) > MOST_SIGNALS:
        lines.append(f"and {len(newest_first) - MOST_SIGNALS} more signals; --json lists all")
    if not drawn.signals:
        lines.append("signals  none")
    return lines


def months(found: Sequence[Month]) -> list[str]:
    """A row for each month."""
    if not found:
        return ["no splice yet"]
    rows = [["month", "accepted", "rework", "rejected", "open"]]
    rows += [
        [each.month, *map(str, (each.accepted, each.rework, each.rejected, each.open))]
        for each in found
    ]
    return _aligned(rows)


def scatter(found: Scatter) -> list[str]:
    """How many pairs there are and how they go together, in words."""
    name = FIELDS[found.field].label.lower()
    if not found.pairs:
        return [f"no splice has both {name} and a measured gap yet"]
    lines = [f"{FIELDS[found.field].label} against the measured gap: {len(found.pairs)} press runs"]
    if found.correlation is None:
        lines.append("together  cannot be said: ten runs with several settings are needed")
    else:
        lines.append(
            f"together  rank correlation {found.correlation:+.2f} (Spearman); "
            "that two things go together does not say that one makes the other"
        )
    return lines


def scaled(value: float, unit: str, to: str, finer: int = 0) -> str:
    """A value of a chart in another unit; a difference, so that no zero is shifted."""
    number = convert(value, unit, to) - convert(0.0, unit, to)
    return with_symbol(f"{number:z.{UNITS[to].decimals + finer}f}", to)


def in_unit(unit: str, wanted: str | None) -> str:
    """The wanted unit where it is one of the same dimension, else the chart's own."""
    fits = wanted is not None and UNITS[wanted].dimension == UNITS[unit].dimension
    return wanted if fits and wanted else unit


def _cell(line: Line | None) -> str:
    if line is None:
        return "-"
    mark = DRIFT if drifts(line) else BROKEN if line.newest else ""
    return f"{line.points}{mark}"


def _signal(line: Line, signal: Signal) -> str:
    mark = DRIFT if drifts(line) else BROKEN
    what = f"{stream_label(line.stream, line.name)}, {label(line.characteristic).lower()}"
    return f"{mark} {plain(what)}: {signal.text} ({line.at.astimezone():%Y-%m-%d})"


def _told(signal: Signal, points: Sequence[Point]) -> str:
    return f"{LETTERS[signal.rule]} {signal.text}  {_where(points[signal.at])}"


def _value(point: Point, unit: str, to: str) -> str:
    text = scaled(point.value, unit, to)
    if point.below:
        return f"below {text}"
    if not point.U:
        return text
    number, _, symbol = text.partition(" ")
    return f"{number} ± {scaled(point.U, unit, to).partition(' ')[0]} {symbol}"


def _where(point: Point) -> str:
    return f"{_day(point)}  job {point.job}, splice {point.splice}"


def _day(point: Point) -> str:
    return f"{point.at.astimezone():%Y-%m-%d}"


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """The first column to the left, numbers to the right."""
    widths = [max(map(width, column)) for column in zip(*rows, strict=True)]
    return aligned(
        (row[0], *(" " * (most - width(cell)) + cell
                   for cell, most in zip(row[1:], widths[1:], strict=True)))
        for row in rows
    )  # fmt: skip
