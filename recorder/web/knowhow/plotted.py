"""A chart, the outcomes of months, a setting against the gap: as their page tells them."""

from __future__ import annotations

from collections.abc import Iterable

from pydantic import AwareDatetime

from recorder.knowhow.trends.chart import Chart, Limits, Month, Scatter
from recorder.knowhow.trends.observed import label, stream_label
from recorder.model.base import Value
from recorder.model.fields import FIELDS, choice_label
from recorder.model.plural import counted
from recorder.model.units import show as shown_in
from recorder.web.knowhow.charted import Charted

MOST_POINTS, MOST_SIGNALS = 200, 12
_PLACES = {"mm": 2, "s": 0, "degC": 1}  # decimals of a difference or a measured value


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


def drawn_of(drawn: Chart, asked: Charted) -> Drawn:
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


def outcomes_of(months: tuple[Month, ...], asked: Charted) -> Outcomes:
    total = {name: sum(getattr(m, name) for m in months) for name in FIELDS["outcome"].choices}
    told = ", ".join(f"{count} {choice_label(name)}" for name, count in total.items())
    return Outcomes(
        picture=_picture(asked, "months", f"Splices of each month by outcome; in all {told}."),
        months=tuple(reversed(months)),
    )


def against_of(scatter: Scatter, asked: Charted) -> Against:
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
