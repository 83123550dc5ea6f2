"""What past jobs show over time: what drifts first, then one chart, then all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from pydantic import AwareDatetime
from starlette.requests import Request
from starlette.responses import Response

from recorder.errors import WrongUse
from recorder.flows.knowhow import trends as flow
from recorder.knowhow.trends.chart import Characteristic, Chart, Limits, Month, Scatter
from recorder.knowhow.trends.observed import label, stream_label
from recorder.model.base import Value
from recorder.model.fields import FIELDS, choice_label
from recorder.model.past import SETTINGS, STREAMS
from recorder.model.plural import counted
from recorder.model.units import show as shown_in
from recorder.web.house import House
from recorder.web.jobs.aside import Aside, large
from recorder.web.jobs.work import house_of
from recorder.web.knowhow.charted import ALL, Charted, charted_of
from recorder.web.pages.errors import status_of, words_of
from recorder.web.pages.rendering import page

MOST_POINTS, MOST_SIGNALS, MOST_LISTED = 200, 12, 60
_OVERVIEW = Aside(flow.overview)
_PLACES = {"mm": 2, "s": 0, "degC": 1}  # decimals of a difference or a measured value


class Listed(Value):
    """One chart in a list. told: the signal of its newest point, '' without one."""

    title: str
    address: str
    points: int
    at: AwareDatetime
    told: str


class Group(Value):
    """The charts of the presses, of the templates … more: how many others there are."""

    title: str
    lines: tuple[Listed, ...]
    more: int


class Told(Value):
    """A signal of the chart that is shown."""

    text: str
    job: str
    at: AwareDatetime


class Dot(Value):
    """A point in the table. signal: the rules that it breaks, in words."""

    at: AwareDatetime
    job: str
    splice: int
    value: str
    moved: str
    signal: str


class Picture(Value):
    """alt: what it shows, in words. Addresses of its forms."""

    alt: str
    svg: str
    png: str
    csv: str


class Drawn(Value):
    """The chart that was chosen. earlier: points that the table leaves out. signals: the newest
    first.
    """

    title: str
    picture: Picture
    limits: str
    signals: tuple[Told, ...]
    dots: tuple[Dot, ...]
    earlier: int


class Outcomes(Value):
    """Splices of each month: month, accepted, rework, rejected, open."""

    picture: Picture
    months: tuple[Month, ...]


class Against(Value):
    """A setting against the gap. pairs: setting, gap and outcome, and the job."""

    picture: Picture
    told: str
    pairs: tuple[tuple[str, str, str, str], ...]
    earlier: int


class Trends(Value):
    """Everything that the template may use. streams: what can be chosen, by stream, as value and
    label. drifts: lasting shifts, which somebody should look at; signals: newest points that break
    another rule. waiting: all charts of a large archive are still gone through. drawn: None where
    nothing is chosen or complaint says why.
    """

    asked: Charted
    streams: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()
    drifts: Group = Group(title="", lines=(), more=0)
    signals: Group = Group(title="", lines=(), more=0)
    groups: tuple[Group, ...] = ()
    drawn: Drawn | None = None
    outcomes: Outcomes | None = None
    against: Against | None = None
    customers: tuple[str, ...] = ()
    waiting: bool = False
    complaint: str = ""


def show(request: Request) -> Response:
    """GET /trends?characteristic=…&of=press:P2&since=…&until=…&field=…"""
    status, view = _view(house_of(request), request)
    return page(
        request, "knowhow/trends.html", status=status, trends=view,
        characteristics=[(each.value, label(each)) for each in Characteristic],
        fields=[(name, FIELDS[name].label) for name in SETTINGS],
    )  # fmt: skip


def _view(house: House, request: Request) -> tuple[int, Trends]:
    """With the status of the answer."""
    lines = _OVERVIEW.of(house.home)
    view = _listed(lines) if lines is not None else _unlisted(house)
    try:
        asked = _of_last_year(house, charted_of(request.query_params))
        view = view.model_copy(update={"asked": asked})
        since, until = asked.times()
        of = (asked.stream, asked.name)
        drawn = flow.chart_of(house.home, asked.characteristic, *of, since, until)
        months = flow.months_of(house.home, since, until, *of)
        scatter = flow.scatter_of(house.home, asked.field, since, until, *of)
    except WrongUse as error:
        told = "; ".join(words_of(request, error))
        return status_of(error), view.model_copy(update={"complaint": told})
    shown = {
        "drawn": _drawn(drawn, asked) if asked.chosen else None,
        "outcomes": _outcomes(months, asked),
        "against": _against(scatter, asked),
    }
    return 200, view.model_copy(update=shown)


def _of_last_year(house: House, asked: Charted) -> Charted:
    """All jobs of a large archive take long, and show less than those of a year."""
    if asked.stream != ALL or asked.since or not large(house.home):
        return asked
    year = date.today() - timedelta(days=365)
    return asked.model_copy(update={"since": f"{year:%Y-%m}"})


def _unlisted(house: House) -> Trends:
    """What can be chosen, while all charts are still gone through."""
    names = {stream: sorted(flow.names(house.home, stream)) for stream in STREAMS}
    return Trends(
        asked=Charted(),
        waiting=True,
        streams=tuple(
            (stream_plural(stream), tuple((f"{stream}:{name}", name) for name in names[stream]))
            for stream in STREAMS
            if names[stream]
        ),
        customers=tuple(names["customer"]),
    )


def _listed(lines: Sequence[flow.Line]) -> Trends:
    groups = []
    streams = []
    for stream in STREAMS:
        own = [line for line in lines if line.stream == stream]
        names = dict.fromkeys(line.name for line in own)
        if own:
            title = stream_plural(stream)
            streams.append((title, tuple((f"{stream}:{name}", name) for name in sorted(names))))
            groups.append(_group(title, own))
    return Trends(
        asked=Charted(),
        streams=tuple(streams),
        drifts=_group("", [line for line in lines if flow.drifts(line)]),
        signals=_group("", [each for each in lines if each.newest and not flow.drifts(each)]),
        groups=tuple(groups),
        customers=tuple(sorted({line.name for line in lines if line.stream == "customer"})),
    )


def _group(title: str, lines: Sequence[flow.Line]) -> Group:
    shown = lines[:MOST_LISTED]
    return Group(title=title, lines=tuple(map(_line, shown)), more=len(lines) - len(shown))


def stream_plural(stream: str) -> str:
    return {"press": "Presses", "template": "Templates", "technician": "Technicians"}.get(
        stream, "Customers"
    )


def _line(line: flow.Line) -> Listed:
    asked = Charted(characteristic=line.characteristic, stream=line.stream, name=line.name)
    return Listed(
        title=f"{label(line.characteristic)}, {stream_label(line.stream, line.name)}",
        address=asked.address(),
        points=line.points,
        at=line.at,
        told=line.newest.text if line.newest else "",
    )


def _drawn(drawn: Chart, asked: Charted) -> Drawn:
    """The chart with its table. asked: as the addresses of its pictures have it."""
    title = f"{label(drawn.characteristic)}, {stream_label(drawn.stream, drawn.name)}"
    signals = [
        Told(text=each.text, job=drawn.points[each.at].job, at=drawn.points[each.at].at)
        for each in reversed(drawn.signals)
    ]
    limits = _limits(drawn.limits, drawn.unit) if drawn.limits else ""
    shown = [f"Control chart: {title}; {counted(len(drawn.points), 'point')}.", limits]
    shown += [f"Newest signal: {signals[0].text}."] if signals else ["No signal."]
    return Drawn(
        title=title,
        picture=_picture(asked, "chart", " ".join(filter(None, shown))),
        limits=limits,
        signals=tuple(signals[:MOST_SIGNALS]),
        dots=tuple(_dots(drawn)),
        earlier=max(0, len(drawn.points) - MOST_POINTS),
    )


def _dots(drawn: Chart) -> Iterable[Dot]:
    """The newest first."""
    told: dict[int, list[str]] = {}
    for signal in drawn.signals:
        told.setdefault(signal.at, []).append(signal.text)
    for place in range(len(drawn.points) - 1, -1, -1)[:MOST_POINTS]:
        point = drawn.points[place]
        value = number(point.value, drawn.unit)
        sure = f" ± {number(point.U, drawn.unit)}" if point.U else ""
        yield Dot(
            at=point.at,
            job=point.job,
            splice=point.splice,
            value=f"below {value}" if point.below else f"{value}{sure}",
            moved="" if point.moving_range is None else number(point.moving_range, drawn.unit),
            signal="; ".join(told.get(place, ())),
        )


def _limits(limits: Limits, unit: str) -> str:
    low, high = number(limits.lower, unit), number(limits.upper, unit)
    told = f"Centre {number(limits.centre, unit)}, limits {low} to {high}"
    so_far = ", provisional: the first jobs are still too few" if limits.provisional else ""
    return f"{told}, from the first {counted(limits.baseline, 'point')}{so_far}."


def number(value: float, unit: str) -> str:
    """A measured value or a difference, in the unit of the chart."""
    return shown_in(value, unit, _PLACES.get(unit))


def _picture(asked: Charted, kind: str, alt: str) -> Picture:
    svg, png, csv = (asked.address(f"/trends/{kind}.{form}") for form in ("svg", "png", "csv"))
    return Picture(alt=alt, svg=svg, png=png, csv=csv)


def _outcomes(months: tuple[Month, ...], asked: Charted) -> Outcomes:
    total = {name: sum(getattr(m, name) for m in months) for name in FIELDS["outcome"].choices}
    told = ", ".join(f"{count} {choice_label(name)}" for name, count in total.items())
    return Outcomes(
        picture=_picture(asked, "months", f"Splices of each month by outcome; in all {told}."),
        months=tuple(reversed(months)),
    )


def _against(scatter: Scatter, asked: Charted) -> Against:
    field, pairs = FIELDS[scatter.field], scatter.pairs
    number_of = counted(len(pairs), "press run")
    told = (
        f"Rank correlation (Spearman) {scatter.correlation:.2f} over {number_of}. It "
        "says that both go together, and not that one makes the other."
        if scatter.correlation is not None
        else f"Both are known of {number_of}; a correlation wants ten and more."
    )
    return Against(
        picture=_picture(
            asked, "gap", f"{field.label} against the measured finger gap, {number_of}."
        ),
        told=told,
        pairs=tuple(
            (
                shown_in(pair.setting, field.unit or ""),
                f"below {number(pair.gap, 'mm')}" if pair.below else number(pair.gap, "mm"),
                choice_label(pair.outcome) if pair.outcome else "not settled",
                pair.job,
            )
            for pair in pairs[: -MOST_POINTS - 1 : -1]
        ),
        earlier=max(0, len(pairs) - MOST_POINTS),
    )
