"""Which charts a summary shows, each with what it says: sentences, and its numbers as a table."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from statistics import fmean
from typing import NamedTuple

from recorder.flows.knowhow import trends
from recorder.knowhow.charts import control, outcomes
from recorder.knowhow.charts import scatter as scattered
from recorder.knowhow.charts.look import Look
from recorder.knowhow.trends import table
from recorder.knowhow.trends.chart import Characteristic, Limits, Pair, Scatter, Signal
from recorder.knowhow.trends.chart import Chart as Trend
from recorder.knowhow.trends.chart import Table as Numbers
from recorder.knowhow.trends.charting import chart, newest
from recorder.knowhow.trends.drifting import drifts_in
from recorder.knowhow.trends.observed import label, stream_label
from recorder.knowhow.trends.outcomes import months
from recorder.knowhow.trends.rules import DRIFT, LETTERS, text_of
from recorder.knowhow.trends.scatter import scatter
from recorder.model.belt import folded
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS, PastRun
from recorder.model.units import UNITS, with_symbol
from recorder.report.content import formats
from recorder.report.content.formats import PAGE
from recorder.report.content.pictures import SCHEME
from recorder.report.summary.compose import Asked
from recorder.report.summary.context import Chart, Column, Row, Table
from recorder.report.wording.wording import count, digits, say
from recorder.settings import ReportSettings

MOST_CHARTS = 6
MOST_AGAINST = 2
LEAST_POINTS = 5  # fewer show nothing. Common practice, no source
MOST_ROWS = 25  # of the table of a chart
MOST_GROUPS = 12  # of settings in the table of one against the gap
MOST_SIGNALS = 2  # told below a chart
SMALL = 500  # width of a picture that takes 112 mm, in units of which a page of 176 mm has 720
_USUAL = frozenset({Characteristic.FINGER_GAP})  # charted also where nothing drifts

_POINT = ("place", "day", "job", "place", "number", "number", "any")

_Drawing = Callable[[str], str]  # keeps an SVG, and gives its address


class Drawn(NamedTuple):
    """What is charted, and the drawings by address."""

    drifts: tuple[str, ...]
    outcomes: Chart | None
    charts: tuple[Chart, ...]
    against: tuple[Chart, ...]
    uncharted: str
    drawings: dict[str, str]


def charts(runs: Sequence[PastRun], asked: Asked, settings: ReportSettings) -> Drawn:
    """runs: of the year up to the end of the month; for a customer that customer's alone."""
    look = Look(own=settings.colours[0])
    drawings: dict[str, str] = {}

    def keep(svg: str) -> str:
        address = f"{SCHEME}chart/{len(drawings) + 1}.svg"
        drawings[address] = svg
        return address

    found = sorted(_candidates(runs, asked), key=_weight)
    shown = found[:MOST_CHARTS]
    return Drawn(
        drifts=tuple(f"{_title(each)}: {text_of(last, PAGE)}" for each, last in _drifting(found)),
        outcomes=_outcomes(runs, keep, look),
        charts=tuple(_trend(each, settings, keep, look) for each in shown),
        against=tuple(
            _against(material, each, keep, look) for material, each in _scatters(runs, asked)
        ),
        uncharted=_uncharted(len(found) - len(shown), bool(shown), asked),
        drawings=drawings,
    )


def _candidates(runs: Sequence[PastRun], asked: Asked) -> Iterator[Trend]:
    """Charts with a point of the month: what drifts, and the gap by press; for a customer those
    of all its splices.
    """
    streams = trends.WARNED if asked.customer is None else ("customer",)
    for stream in streams:
        for name, of_name in trends.by_name(runs, stream):
            if of_name[-1].at < asked.month.start:
                continue
            wanted = {
                each.characteristic for each in drifts_in(stream, name, of_name[-trends.RECENT :])
            }
            for characteristic in wanted | (_USUAL if stream != "template" else set()):
                made = chart(characteristic, stream, name, of_name)
                if len(made.points) >= LEAST_POINTS and made.points[-1].at >= asked.month.start:
                    yield made


def _weight(made: Trend) -> tuple[int, int, str, str, str]:
    """What drifts first, then what breaks another rule, then by number of points."""
    last = newest(made)
    signalled = 0 if last and last.rule == DRIFT else 1 if last else 2
    return (signalled, -len(made.points), made.stream, folded(made.name), made.characteristic)


def _drifting(found: Iterable[Trend]) -> Iterator[tuple[Trend, Signal]]:
    for each in found:
        last = newest(each)
        if last and last.rule == DRIFT:
            yield each, last


def _outcomes(runs: Sequence[PastRun], keep: _Drawing, look: Look) -> Chart | None:
    found = months(runs, None)
    if not found:
        return None
    heading = say("Splices by outcome, month by month")
    return Chart(
        src=keep(outcomes.svg(found, PAGE, dataclasses.replace(look, width=SMALL))),
        alt=say("{heading}. The numbers stand in a table behind.", heading=heading),
        small=True,
        remark="",
        table=_table(heading, table.of_months(found, PAGE)),
    )


def _trend(made: Trend, settings: ReportSettings, keep: _Drawing, look: Look) -> Chart:
    signals = sorted(made.signals, key=lambda each: -each.at)
    told = [_limits(made, made.limits, settings)] if made.limits else []
    told += [_signal(each, made) for each in signals[:MOST_SIGNALS]]
    if len(signals) > MOST_SIGNALS:
        left = len(signals) - MOST_SIGNALS
        told.append(count("And {n} signal before.", "And {n} signals before.", left))
    if not signals:
        told.append(say("No rule is broken."))
    heading, remark = _title(made), " ".join(told)
    return Chart(
        src=keep(control.svg(made, PAGE, look=look)),
        alt=say("{heading}. {said} The numbers stand in a table behind.", heading=heading,
                said=remark),
        small=False,
        remark=remark,
        table=_of_points(heading, table.of_chart(made, PAGE)),
    )  # fmt: skip


def _title(made: Trend) -> str:
    whose = stream_label(made.stream, made.name, PAGE)
    return say("{what}, {whose}", what=label(made.characteristic, PAGE), whose=whose)


def _limits(made: Trend, limits: Limits, settings: ReportSettings) -> str:
    """In the unit of the chart, and in the reader's."""
    unit = made.unit
    wanted = settings.units.get(UNITS[unit].dimension, unit)

    def shown(value: float) -> str:
        told = [
            with_symbol(digits(f"{value * table.factor(unit, to):z.{UNITS[to].decimals + 1}f}"), to)
            for to in dict.fromkeys((unit, wanted))
        ]
        return f"{told[0]} ({told[1]})" if len(told) > 1 else told[0]

    return say(
        "Centre {centre}, limits {lower} and {upper}.",
        centre=shown(limits.centre), lower=shown(limits.lower), upper=shown(limits.upper),
    )  # fmt: skip


def _signal(signal: Signal, made: Trend) -> str:
    point = made.points[signal.at]
    return say(
        "{letter}: {signal} ({day}, job {job}).", letter=LETTERS[signal.rule],
        signal=text_of(signal, PAGE), day=table.day(point.at, None), job=point.job,
    )  # fmt: skip


def _scatters(runs: Sequence[PastRun], asked: Asked) -> Iterator[tuple[str, Scatter]]:
    """On the belt material that was measured most this month, the settings that go most with the
    gap; of several materials at once each would show through the others.
    """
    measured = [run for run in runs if run.finger_gap is not None and run.belt_material]
    of_month = Counter(folded(r.belt_material or "") for r in measured if r.at >= asked.month.start)
    if not of_month:
        return
    ((material, _),) = of_month.most_common(1)
    on_it = [run for run in measured if folded(run.belt_material or "") == material]
    made = [scatter(field, on_it) for field in SETTINGS]
    strong = sorted(
        (each for each in made if each.correlation is not None),
        key=lambda each: -abs(each.correlation or 0.0),
    )
    for each in strong[:MOST_AGAINST]:
        yield str(on_it[-1].belt_material), each


def _against(material: str, made: Scatter, keep: _Drawing, look: Look) -> Chart:
    setting = formats.label(made.field)
    heading = say("{setting} against finger gap, {material}", setting=setting, material=material)
    strength = digits(f"{made.correlation or 0.0:+.2f}")
    remark = say("Belts of {material} alone: others would show through.", material=material)
    said = say("Rank correlation {strength} (Spearman) over {n} press runs.",
               strength=strength, n=len(made.pairs))  # fmt: skip
    return Chart(
        src=keep(scattered.svg(made, PAGE, look=dataclasses.replace(look, width=SMALL))),
        alt=say("{heading}. {said} The numbers stand in a table behind.", heading=heading,
                said=said),
        small=True,
        remark=remark,
        table=_table(heading, _grouped(made)),
    )  # fmt: skip


def _grouped(made: Scatter) -> Numbers:
    """The gaps by the setting that they came with, from low to high; many values in equal steps."""
    unit = str(FIELDS[made.field].unit)
    low = min(pair.setting for pair in made.pairs)
    high = max(pair.setting for pair in made.pairs)
    step = (high - low) / MOST_GROUPS
    groups: dict[float, list[Pair]] = {}
    few = len({pair.setting for pair in made.pairs}) <= MOST_GROUPS
    for pair in made.pairs:
        place = pair.setting if few else min(MOST_GROUPS - 1, (pair.setting - low) // step)
        groups.setdefault(place, []).append(pair)
    rows = []
    for _, pairs in sorted(groups.items()):
        settings = [table.number(pair.setting, unit, PAGE)
                    for pair in sorted(pairs, key=lambda pair: pair.setting)]  # fmt: skip
        ends = dict.fromkeys((settings[0], settings[-1]))
        gaps = [pair.gap for pair in pairs]
        shown = (table.number(gap, "mm", PAGE) for gap in (min(gaps), fmean(gaps), max(gaps)))
        rows.append((" – ".join(ends), str(len(pairs)), *shown))
    setting = say("{what} in {unit}", what=formats.label(made.field), unit=UNITS[unit].symbol)
    head = (say("Smallest gap in mm"), say("Mean gap in mm"), say("Largest gap in mm"))
    return Numbers(head=(setting, say("Press runs"), *head), rows=tuple(rows))


def _of_points(heading: str, numbers: Numbers) -> Table:
    """Columns: number, day, job, splice, value, its U where there is one, range, signals."""
    sure = ("place",) if len(numbers.head) == len(_POINT) + 1 else ()
    return _table(heading, numbers, (*_POINT[:5], *sure, *_POINT[5:]))


def _table(heading: str, numbers: Numbers, kinds: Sequence[str] = ()) -> Table:
    """Of too many rows the last ones are shown. kinds: of columns, where not all are numbers."""
    left = max(0, len(numbers.rows) - MOST_ROWS)
    kinds = kinds or (*("number" for _ in numbers.head[1:]), "any")
    return Table(
        heading=heading,
        columns=tuple(
            Column(heading=head, kind=kind) for head, kind in zip(numbers.head, kinds, strict=True)
        ),
        rows=tuple(Row(cells=cells) for cells in numbers.rows[left:]),
        remark=say("The {n} newest of {all} are shown.", n=MOST_ROWS, all=len(numbers.rows))
        if left
        else "",
    )


def _uncharted(left: int, some: bool, asked: Asked) -> str:
    if left:
        more = count("{n} more chart is not shown", "{n} more charts are not shown", left)
        return say("{more}; 'seamnote trend' lists all.", more=more)
    if some:
        return ""
    if asked.customer is not None:
        return say("A chart over time wants {n} measured splices, one of them of this month.",
                   n=LEAST_POINTS)  # fmt: skip
    return say("A chart over time wants {n} measured splices on one press, one of them of this "
               "month.", n=LEAST_POINTS)  # fmt: skip
