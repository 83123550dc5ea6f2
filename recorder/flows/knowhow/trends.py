"""Past jobs to what they show over time: one chart, all of them at a glance, and who drifts.

::

    index ─► press runs of a stream ─► chart ─► signals, of which the newest is a drift
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, tzinfo
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.finding.past import Past
from recorder.archive.finding.typos import near_names
from recorder.archive.index.index import Index
from recorder.errors import UnknownName, WrongUse
from recorder.flows.progress import Progress, rebuilding
from recorder.knowhow.trends.chart import Characteristic, Chart, Drift, Month, Scatter, Signal
from recorder.knowhow.trends.charting import chart, latest, newest
from recorder.knowhow.trends.drifting import drifts_in
from recorder.knowhow.trends.outcomes import months
from recorder.knowhow.trends.rules import DRIFT
from recorder.knowhow.trends.scatter import scatter
from recorder.model.base import Value
from recorder.model.belt import folded
from recorder.model.past import SETTINGS, STREAMS, PastRun

__all__ = ["newest"]  # of a chart, for those above

ALL = "all"  # the stream of every press run, whoever made it
WARNED = ("press", "template")  # whose drift is told before the next job: what wears
# Press runs of a stream that are looked through for what it shows now; a chart of its own has all.
RECENT = 1000
FEW = 8  # names that a message can list


class Line(Value):
    """A chart of the newest ``RECENT`` press runs in one line. at: of its newest point. newest:
    the weightiest rule that this point breaks, None where it breaks none.
    """

    stream: str
    name: str
    characteristic: Characteristic
    points: int
    at: datetime
    newest: Signal | None = None


def chart_of(
    home: Home,
    characteristic: Characteristic,
    stream: str,
    name: str = "",
    since: datetime | None = None,
    until: datetime | None = None,
    progress: Progress | None = None,
) -> Chart:
    """The chart of a press, template, technician or customer, or of ``ALL``, which has no name.

    since: what was before does not count, nor in the limits: for after a repair. progress: of
    making the index anew, where that is needed. Raises UnknownName, and what the index raises.
    """
    with Index.open(home, rebuilding(progress)) as index:
        past = Past(index)
        if stream == ALL:
            return chart(characteristic, ALL, "", past.runs_between(since, until))
        known = _known(past, stream, name)
        return chart(characteristic, stream, known, past.runs_of(stream, known, since, until))


def characteristic(text: str) -> Characteristic:
    """As a person writes it. Raises UnknownName, which names the near ones."""
    plain = text.strip().lower().replace("-", "_").replace(" ", "_")
    if plain not in set(Characteristic):
        near = near_names(plain, [(each, each) for each in Characteristic])
        told = (
            f"; did you mean {' or '.join(near)}?" if near else f"; use {', '.join(Characteristic)}"
        )
        raise UnknownName(kind="characteristic", wanted=text, near=told, command="trend --help")
    return Characteristic(plain)


def overview(home: Home, progress: Progress | None = None) -> tuple[Line, ...]:
    """Every chart with a point: those that drift first, then those whose newest point breaks
    another rule; each by stream and name. The answer is kept while nothing changes in the index.
    """
    with Index.open(home, rebuilding(progress)) as index:
        state = state_of(home)
        if _lines.get(home.root, ("", ()))[0] != state:
            if progress is not None:
                progress.stage("charting what past jobs tell")
            _lines[home.root] = (state, lines(Past(index).runs_between()))
    return _lines[home.root][1]


def lines(runs: Iterable[PastRun]) -> tuple[Line, ...]:
    """As ``overview``, of these runs, the oldest first."""
    every = list(runs)
    found = [
        Line(stream=stream, name=name, characteristic=each, points=it.points, at=it.at,
             newest=it.signal)
        for stream in STREAMS
        for name, of_name in by_name(every, stream)
        for each in Characteristic
        if (it := latest(each, of_name[-RECENT:]))
    ]  # fmt: skip
    return tuple(sorted(found, key=_weight))


def drifts(line: Line) -> bool:
    """Whether the chart speaks up by itself: a lasting shift, which wants a person."""
    return line.newest is not None and line.newest.rule == DRIFT


def _weight(line: Line) -> int:
    return 0 if drifts(line) else 1 if line.newest else 2


def by_name(runs: Iterable[PastRun], stream: str) -> list[tuple[str, list[PastRun]]]:
    """The runs of each press, template and so on, in the order of the alphabet; as the name was
    written last. Runs without one are left out.
    """
    found: dict[str, list[PastRun]] = {}
    for run in runs:
        name = getattr(run, stream)
        if name is not None:
            found.setdefault(folded(name), []).append(run)
    return [(getattr(each[-1], stream), each) for _, each in sorted(found.items())]


def drifts_for(
    home: Home, press: str | None, template: str | None, but: str | None = None
) -> tuple[Drift, ...]:
    """What the newest jobs with this press and this template show. but: id of a job that does not
    count. Nothing for a name that no job has. The folders are not looked through for changes.
    """
    with Index.open(home, scanned=False) as index:
        past = Past(index)
        return tuple(
            drift
            for stream, name in zip(WARNED, (press, template), strict=True)
            if name is not None
            for runs in [past.newest(stream, name, RECENT, but)]
            if runs
            for drift in drifts_in(stream, getattr(runs[-1], stream), runs)
        )


def drifting(home: Home) -> tuple[Drift, ...]:
    """What the newest jobs show of every press and template. As ``drifts_for``; the answer is kept
    while nothing changes in the index, since a page asks for it again and again.
    """
    if not home.index.exists():
        return ()
    state = state_of(home)
    if _kept.get(home.root, ("", ()))[0] != state:
        with Index.open(home, scanned=False) as index:
            _kept[home.root] = (state, drifts_of(Past(index).runs_between()))
    return _kept[home.root][1]


# The last answers by home, with the state of the index that they were found in.
_kept: dict[Path, tuple[str, tuple[Drift, ...]]] = {}
_lines: dict[Path, tuple[str, tuple[Line, ...]]] = {}


def state_of(home: Home) -> str:
    """Which writing of the index this is: of its file and of the log of what joined it since,
    which everyone who reads makes anew while it is empty.
    """
    log = home.index.with_name(f"{home.index.name}-wal")
    stats = [path.stat() for path in (home.index, log) if path.exists()]
    return " ".join(f"{e.st_ino}:{e.st_mtime_ns}:{e.st_size}" for e in stats if e.st_size)


def drifts_of(runs: Iterable[PastRun]) -> tuple[Drift, ...]:
    """What the newest of these runs show of each press and template."""
    every = list(runs)
    return tuple(
        drift
        for stream in WARNED
        for name, of_name in by_name(every, stream)
        for drift in drifts_in(stream, name, of_name[-RECENT:])
    )


def months_of(
    home: Home,
    since: datetime | None = None,
    until: datetime | None = None,
    stream: str = ALL,
    name: str = "",
    zone: tzinfo | None = None,
    progress: Progress | None = None,
) -> tuple[Month, ...]:
    """Splices by outcome and month. zone: in which a month begins, None for the local one.
    Raises as ``chart_of``.
    """
    with Index.open(home, rebuilding(progress)) as index:
        return months(_runs(Past(index), stream, name, since, until), zone)


def scatter_of(
    home: Home,
    field: str,
    since: datetime | None = None,
    until: datetime | None = None,
    stream: str = ALL,
    name: str = "",
    progress: Progress | None = None,
) -> Scatter:
    """A setting of the press against the measured gap. Raises WrongUse for what is no setting,
    and as ``chart_of``.
    """
    if field not in SETTINGS:
        near = near_names(field, [(each, each) for each in SETTINGS])
        told = f"did you mean {' or '.join(near)}?" if near else f"use {', '.join(SETTINGS)}"
        raise WrongUse(detail=f"{field!r} is no setting of a press; {told}", command="trend")
    with Index.open(home, rebuilding(progress)) as index:
        return scatter(field, _runs(Past(index), stream, name, since, until))


def _runs(
    past: Past, stream: str, name: str, since: datetime | None, until: datetime | None
) -> list[PastRun]:
    if stream == ALL:
        return past.runs_between(since, until)
    return past.runs_of(stream, _known(past, stream, name), since, until)


def names(home: Home, stream: str) -> tuple[str, ...]:
    """Of the presses, templates and so on of past jobs, those with most runs first."""
    with Index.open(home, scanned=False) as index:
        return tuple(name for name, _ in Past(index).names_of(stream))


def _known(past: Past, stream: str, wanted: str) -> str:
    """The name as jobs write it. Raises UnknownName, which names the near ones."""
    return known_name(stream, wanted, [name for name, _ in past.names_of(stream)])


def known_name(stream: str, wanted: str, names: Sequence[str]) -> str:
    """One of these names, told in any case and with any spaces. Raises UnknownName."""
    by_form = {folded(name): name for name in names}
    found = by_form.get(folded(wanted))
    if found is None:
        near = near_names(wanted, [(name, form) for form, name in by_form.items()])
        told = f"; did you mean {' or '.join(map(repr, near))}?" if near else _all_of(names)
        raise UnknownName(kind=stream, wanted=wanted, near=told, command="trend")
    return found


def _all_of(names: Sequence[str]) -> str:
    """What there is instead, where that is not much."""
    if not names or len(names) > FEW:
        return ""
    return f"; there {'is' if len(names) == 1 else 'are'} {', '.join(map(repr, names))}"
