"""trend, summary: what past jobs show over time, on the terminal, as a picture and as a PDF."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from recorder.cli.terminal import (
    Commands,
    StageLines,
    command,
    open_home,
    print_json,
    settings_of,
    warn,
    words_of,
)

if TYPE_CHECKING:
    from datetime import datetime

    from recorder.archive.disk.home import Home
    from recorder.model.base import Value

STREAMS = ("press", "template", "technician", "customer")
PNG_PX = 1600

_MORE = """\
charted are the measured finger_gap, width_error and edge_offset, and cycle_time
and platen_difference as they were told. Without one, and without a name, all
charts stand in one table. The limits are those of individuals and moving ranges
(ISO 7870-2), from the first points of a chart: --since begins a new one, after
a repair. Exit code 4: the newest job shows a lasting shift, or breaks a rule of
the chart that was asked for.

examples:
  seamnote trend
  seamnote trend finger_gap --press P2 --svg gap.svg
  seamnote trend cycle_time --template T80-20 --since 2026-03 --unit min
  seamnote trend --outcomes --customer 'Larkfield Bakery'
  seamnote trend --against top_temperature --press P2
"""


def add(commands: Commands, shared: argparse.ArgumentParser) -> None:
    trend = command(commands, shared, "trend", "what past jobs show over time", _trend)
    trend.formatter_class = argparse.RawDescriptionHelpFormatter
    trend.ending = lambda: _MORE
    trend.add_argument(
        "characteristic", nargs="?", metavar="WHAT",
        help="finger_gap, width_error, edge_offset, cycle_time or platen_difference",
    )  # fmt: skip
    named = trend.add_mutually_exclusive_group()
    for stream in STREAMS:
        named.add_argument(f"--{stream}", metavar="NAME", help=f"the jobs of this {stream} alone")
    named.add_argument("--everything", action="store_true", help="all jobs in one chart")
    kind = trend.add_mutually_exclusive_group()
    kind.add_argument("--outcomes", action="store_true", help="splices by outcome and month")
    kind.add_argument(
        "--against", metavar="SETTING", help="a setting, as dwell_time, against the measured gap"
    )
    trend.add_argument("--since", metavar="DATE", help="e.g. 2026, 2026-03 or 2026-03-09")
    trend.add_argument("--until", metavar="DATE", help="up to the end of that day, month or year")
    trend.add_argument("--unit", metavar="UNIT", help="show values in it, e.g. inch")
    trend.add_argument("--svg", type=Path, metavar="FILE", help="write the chart as a drawing")
    trend.add_argument("--png", type=Path, metavar="FILE", help="write the chart as a picture")
    trend.add_argument("--csv", type=Path, metavar="FILE", help="write its points as a table")

    summary = command(
        commands, shared, "summary", "a month for the firm or a customer, as PDF", _summary
    )
    summary.add_argument("month", metavar="MONTH", help="e.g. 2026-10")
    summary.add_argument("--customer", metavar="NAME", help="the jobs of this customer alone")
    summary.add_argument(
        "--out", type=Path, metavar="FILE", help="default: summary_MONTH.pdf in this folder"
    )


def _trend(arguments: argparse.Namespace) -> int:
    from recorder.errors import WrongUse
    from recorder.flows.moments import stretch

    home = open_home(arguments)
    since = stretch(arguments.since, "since")[0] if arguments.since is not None else None
    until = stretch(arguments.until, "until")[1] if arguments.until is not None else None
    if since is not None and until is not None and since >= until:
        raise WrongUse(detail="--until lies before --since", command="trend")
    with words_of(home.root, settings_of(home.root)):
        unit = _unit(arguments)
        stream, name = _stream(arguments)
        _need_one_kind(arguments, stream)
        if arguments.outcomes:
            return _outcomes(arguments, home, stream or "all", name, since, until)
        if arguments.against is not None:
            return _against(arguments, home, stream or "all", name, since, until, unit)
        if stream is None:
            return _overview(arguments, home)
        return _chart(arguments, home, stream, name, since, until, unit)


def _need_one_kind(arguments: argparse.Namespace, stream: str | None) -> None:
    from recorder.errors import WrongUse

    picture = arguments.outcomes or arguments.against is not None
    wrong = ""
    if picture and arguments.characteristic is not None:
        wrong = "give a characteristic, --outcomes or --against, not two of them"
    elif not picture and stream is not None and arguments.characteristic is None:
        wrong = "say what to chart, e.g. finger_gap, or --outcomes"
    elif not picture and stream is None and _bounded(arguments):
        wrong = "say whose chart: --press, --template, --technician, --customer or --everything"
    elif [arguments.svg, arguments.png, arguments.csv].count(Path("-")) + arguments.json > 1:
        wrong = "only one thing can go to standard output"
    if wrong:
        raise WrongUse(detail=wrong, command="trend")


def _bounded(arguments: argparse.Namespace) -> bool:
    """Whether an option was given that a table of all charts has no use for."""
    given = (arguments.svg, arguments.png, arguments.csv, arguments.since, arguments.until)
    return any(each is not None for each in given)


def _stream(arguments: argparse.Namespace) -> tuple[str | None, str]:
    for stream in STREAMS:
        if getattr(arguments, stream) is not None:
            return stream, getattr(arguments, stream)
    return ("all", "") if arguments.everything else (None, "")


def _unit(arguments: argparse.Namespace) -> str | None:
    from recorder.flows.wanted_units import wanted_units

    if arguments.unit is None:
        return None
    (unit,) = wanted_units([arguments.unit]).values()
    return unit


def _overview(arguments: argparse.Namespace, home: Home) -> int:
    from recorder.cli import trends_text
    from recorder.flows.knowhow import trends

    progress = StageLines()
    lines = trends.overview(home, progress)
    progress.close()
    if arguments.characteristic is not None:
        wanted = trends.characteristic(arguments.characteristic)
        lines = tuple(line for line in lines if line.characteristic is wanted)
    if arguments.json:
        for line in lines:
            print_json(line.model_dump(mode="json"))
    elif lines:
        print("\n".join(trends_text.overview(lines)))
    if not lines:
        warn(f"no job in {home.root} tells anything to chart yet; a measured photo does")
    return 4 if any(map(trends.drifts, lines)) else 0


def _chart(
    arguments: argparse.Namespace, home: Home, stream: str, name: str,
    since: datetime | None, until: datetime | None, unit: str | None,
) -> int:  # fmt: skip
    from recorder.cli import trends_text
    from recorder.flows.knowhow import pictures, trend_tables, trends

    wanted = trends.characteristic(arguments.characteristic)
    progress = StageLines()
    chart = trends.chart_of(home, wanted, stream, name, since, until, progress)
    progress.close()
    drawn = pictures.of_chart(chart, unit)
    if arguments.csv is not None:
        _write(arguments.csv, trend_tables.of_chart(chart).encode())
    _answer(arguments, drawn, chart, trends_text.chart(chart, unit))
    return 4 if trends.newest(chart) else 0


def _outcomes(
    arguments: argparse.Namespace, home: Home, stream: str, name: str,
    since: datetime | None, until: datetime | None,
) -> int:  # fmt: skip
    from recorder.cli import trends_text
    from recorder.flows.knowhow import pictures, trend_tables, trends

    progress = StageLines()
    months = trends.months_of(home, since, until, stream, name, progress=progress)
    progress.close()
    if arguments.csv is not None:
        _write(arguments.csv, trend_tables.of_months(months).encode())
    _answer(arguments, pictures.of_months(months), months, trends_text.months(months))
    return 0


def _against(
    arguments: argparse.Namespace, home: Home, stream: str, name: str,
    since: datetime | None, until: datetime | None, unit: str | None,
) -> int:  # fmt: skip
    from recorder.cli import trends_text
    from recorder.flows.knowhow import pictures, trend_tables, trends

    progress = StageLines()
    scatter = trends.scatter_of(home, arguments.against, since, until, stream, name, progress)
    progress.close()
    if arguments.csv is not None:
        _write(arguments.csv, trend_tables.of_scatter(scatter).encode())
    _answer(arguments, pictures.of_scatter(scatter, unit), scatter, trends_text.scatter(scatter))
    return 0


def _answer(
    arguments: argparse.Namespace, svg: str, value: Value | tuple[Value, ...], lines: list[str]
) -> None:
    """Pictures to files, and the answer as text or as JSON."""
    from recorder.flows.knowhow import pictures

    if arguments.svg is not None:
        _write(arguments.svg, svg.encode())
    if arguments.png is not None:
        _write(arguments.png, pictures.png(svg, PNG_PX))
    if arguments.json:
        values: tuple[Any, ...] = value if isinstance(value, tuple) else (value,)
        for each in values:
            print_json(each.model_dump(mode="json"))
    elif not _to_output(arguments):
        print("\n".join(lines))


def _to_output(arguments: argparse.Namespace) -> bool:
    return Path("-") in (arguments.svg, arguments.png, arguments.csv)


def _write(path: Path, content: bytes) -> None:
    from recorder.archive.disk import atomic

    if path == Path("-"):
        sys.stdout.buffer.write(content)
    else:
        atomic.write(path, content)


def _summary(arguments: argparse.Namespace) -> int:
    from recorder.flows.knowhow.summary import write_summary

    home = open_home(arguments)
    progress = StageLines()
    written = write_summary(
        home, settings_of(home.root), arguments.month, arguments.customer, arguments.out, progress
    )
    progress.close()
    if arguments.json:
        print_json({"month": arguments.month, "customer": arguments.customer, "pdf": str(written)})
    else:
        print(f"Summary  {written}")
    return 0
