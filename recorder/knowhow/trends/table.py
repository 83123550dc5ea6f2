"""What a picture shows, as a table: for those who cannot see it, and for a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, tzinfo

from recorder.knowhow.trends import rules
from recorder.knowhow.trends.chart import Chart, Month, Table
from recorder.knowhow.trends.observed import label
from recorder.model.units import UNITS, convert
from recorder.model.words import ENGLISH, Words


def factor(unit: str, to: str) -> float:
    """What differences in one unit are multiplied with to be in another: 10 °C is 18 °F apart."""
    return convert(1.0, unit, to) - convert(0.0, unit, to)


def number(value: float, unit: str, words: Words = ENGLISH) -> str:
    """With the digits that the unit has on a page, and without its symbol: '0.40'."""
    return words.digits(f"{value:z.{UNITS[unit].decimals}f}")


def day(at: datetime, zone: tzinfo | None) -> str:
    """'2026-11-05', the same in all languages. zone: None for that of this machine."""
    return at.astimezone(zone).date().isoformat()


def of_chart(
    chart: Chart, words: Words = ENGLISH, unit: str | None = None, zone: tzinfo | None = None
) -> Table:
    """A row for each point, the oldest first. unit: of the values, None for that of the chart."""
    unit = unit or chart.unit
    times = factor(chart.unit, unit)
    symbol = UNITS[unit].symbol
    sure = any(point.U is not None for point in chart.points)
    told: dict[int, list[str]] = {}
    for signal in chart.signals:
        for place in range(signal.at if signal.first is None else signal.first, signal.at + 1):
            text = rules.text_of(signal, words) if place == signal.at else ""
            told.setdefault(place, []).append(text or rules.rule_text(signal.rule, words))

    def shown(value: float | None) -> str:
        return "" if value is None else number(value * times, unit, words)

    rows = []
    for place, point in enumerate(chart.points):
        value = shown(point.value)
        row = [
            str(place + 1),
            day(point.at, zone),
            point.job,
            str(point.splice),
            words.say("below {value}", value=value) if point.below else value,
            *([shown(point.U)] if sure else []),
            shown(point.moving_range),
            "; ".join(told.get(place, [])),
        ]
        rows.append(tuple(row))
    head = (
        words.say("No."),
        words.say("Date"),
        words.say("Job"),
        words.say("Splice"),
        f"{label(chart.characteristic, words)}, {symbol}",
        *([f"U, {symbol}"] if sure else []),
        words.say("Moving range, {unit}", unit=symbol),
        words.say("Signals"),
    )
    return Table(head=head, rows=tuple(rows))


def of_months(months: Sequence[Month], words: Words = ENGLISH) -> Table:
    """A row for each month, with what all its splices are."""
    rows = []
    for it in months:
        counts = (it.accepted, it.rework, it.rejected, it.open)
        rows.append((it.month, *map(str, counts), str(sum(counts))))
    return Table(
        head=(
            words.say("Month"),
            words.say("Accepted"),
            words.say("Rework"),
            words.say("Rejected"),
            words.say("Open"),
            words.say("All"),
        ),
        rows=tuple(rows),
    )


def outcome_label(outcome: str | None, words: Words = ENGLISH) -> str:
    match outcome:
        case "accepted":
            return words.say("accepted")
        case "rework":
            return words.say("rework")
        case "rejected":
            return words.say("rejected")
        case _:
            return words.say("open")
