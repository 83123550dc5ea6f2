"""What past jobs show over time: what drifts first, then one chart, then all of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from pydantic import AwareDatetime
from starlette.requests import Request
from starlette.responses import Response

from recorder.errors import WrongUse
from recorder.flows.knowhow import trends as flow
from recorder.knowhow.trends.chart import Characteristic
from recorder.knowhow.trends.observed import label, stream_label
from recorder.model.base import Value
from recorder.model.fields import FIELDS
from recorder.model.past import SETTINGS, STREAMS
from recorder.web.house import House
from recorder.web.jobs.aside import Aside, large
from recorder.web.jobs.work import house_of
from recorder.web.knowhow.charted import ALL, Charted, charted_of
from recorder.web.knowhow.plotted import (
    Against,
    Drawn,
    Outcomes,
    against_of,
    drawn_of,
    outcomes_of,
)
from recorder.web.pages.errors import status_of, words_of
from recorder.web.pages.rendering import page

MOST_LISTED = 60
_OVERVIEW = Aside(flow.overview)


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
        "drawn": drawn_of(drawn, asked) if asked.chosen else None,
        "outcomes": outcomes_of(months, asked),
        "against": against_of(scatter, asked),
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
