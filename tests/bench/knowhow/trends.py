"""Shifts that were planted on presses: how many jobs pass until one is signalled, and how often a
press on which nothing changes is.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import NamedTuple

from scipy.stats import poisson

from recorder.archive.disk.home import Home
from recorder.archive.finding.past import Past
from recorder.archive.index.index import Index
from recorder.flows.knowhow.trends import RECENT, drifts_for
from recorder.knowhow.trends.chart import Characteristic, Chart
from recorder.knowhow.trends.charting import chart
from recorder.knowhow.trends.observed import SIZES
from recorder.knowhow.trends.rules import DRIFT
from recorder.model.past import PastRun
from tests.bench.archive.figures import Figure, Spent, spread, timed
from tests.bench.knowhow import belts, jobs
from tests.bench.knowhow.jobs import Truth
from tests.knowhow.trends.theory import cusum_arl

MOST_JOBS = 12.0
MOST_MS = 100.0
SURE = 0.99  # a stable process alarms no more often than this in so many firms
PLANTED = [Characteristic(name) for name in belts.STABLE]
Charting = Callable[[Characteristic, str, str, Sequence[PastRun]], Chart]


class Seen(NamedTuple):
    """What one chart of a press shows. jobs: before a shift, or up to the first false alarm.
    alarmed: whether there was one. delay: jobs from the first one after the shift to the one that
    alarms, both counted; None without a shift, and where a false alarm lasted when it came.
    """

    jobs: int
    alarmed: bool
    delay: int | None = None


def figures(
    home: Home, count: int, truths: Sequence[Truth], charted: Charting = chart
) -> tuple[list[Figure], list[str]]:
    """Over all presses, by characteristic; also what a chart shows otherwise than was planted."""
    groups: dict[int, list[Truth]] = defaultdict(list)
    for truth in truths:
        groups[truth.press].append(truth)
    seen: dict[Characteristic, list[Seen]] = defaultdict(list)
    mistakes: list[str] = []
    waited: list[Spent] = []
    with Index.open(home, scanned=False) as index:
        for press, group in sorted(groups.items()):
            name = jobs.press_name(press)
            runs = Past(index).runs_of("press", name)
            alarms = set()
            for characteristic in PLANTED:
                found = charted(characteristic, "press", name, runs)
                mistakes += _wrong_points(found, group)
                seen[characteristic].append(_seen(found, group, press, count))
                recent = charted(characteristic, "press", name, runs[-RECENT:])
                if any(list(_alarming(recent).values())[-1:]):
                    alarms.add(characteristic)
            mistakes += _wrong_notice(home, name, alarms, waited)
    return [
        *(_delay(each, seen[each]) for each in PLANTED if _shifted(each)),
        *(_false(each, seen[each]) for each in PLANTED),
        *spread("drifts of a press", waited, MOST_MS),
    ], mistakes


def _seen(found: Chart, group: Sequence[Truth], press: int, count: int) -> Seen:
    alarms = _alarming(found)
    alarming = list(alarms.values())
    shift = belts.shift(press)
    if not shift or shift[0] != found.characteristic:
        return _stable(alarming)
    ordinals = {truth.job: truth.ordinal for truth in group}
    from_job = belts.shifted_from(press, count)
    first = next(at for at, job in enumerate(alarms) if ordinals[job] >= from_job)
    before = _stable(alarming[:first])
    if alarming[first - 1]:
        return before
    delay = next((at for at, alarm in enumerate(alarming[first:], 1) if alarm), None)
    return before._replace(delay=len(alarming) - first + 1 if delay is None else delay)


def _stable(alarming: Sequence[bool]) -> Seen:
    first = next((at for at, alarm in enumerate(alarming, 1) if alarm), None)
    return Seen(len(alarming) if first is None else first, first is not None)


def _alarming(found: Chart) -> dict[str, bool]:
    """By job, whether the rule that speaks up by itself is broken, or was and dipped only."""
    broken = {
        at
        for signal in found.signals
        if signal.rule == DRIFT
        for at in range(signal.at if signal.first is None else signal.first, signal.at + 1)
    }
    jobs_seen: dict[str, bool] = {}
    for at, point in enumerate(found.points):
        jobs_seen[point.job] = at in broken or jobs_seen.get(point.job, False)
    return jobs_seen


def _delay(characteristic: Characteristic, seen: Sequence[Seen]) -> Figure:
    delays = [each.delay for each in seen if each.delay is not None]
    theory = cusum_arl(1.0, sides=1)
    mean = math.nan if not delays else sum(delays) / len(delays)
    return Figure(
        f"{characteristic}: jobs to the signal of one sigma", mean, "", most=MOST_JOBS,
        note=f"{len(delays)} presses, worst {max(delays, default=0)}; theory {theory:.1f}",
    )  # fmt: skip


def _false(characteristic: Characteristic, seen: Sequence[Seen]) -> Figure:
    """In the jobs up to the first false alarm of each press, or up to its shift or its end."""
    passed, alarms = sum(each.jobs for each in seen), sum(each.alarmed for each in seen)
    arl = cusum_arl(0.0, sides=1 if characteristic in SIZES else 2)
    expected = passed / arl
    return Figure(
        f"{characteristic}: false alarms in 1,000 jobs", 1000 * alarms / passed, "",
        most=1000 * float(poisson.ppf(SURE, expected)) / passed,
        note=f"{alarms} in {passed:,} jobs; theory {1000 / arl:.2f}, so {expected:.0f}",
    )  # fmt: skip


def _shifted(characteristic: Characteristic) -> bool:
    return any(name == characteristic for name, _ in belts.SHIFTS.values())


def _wrong_points(found: Chart, group: Sequence[Truth]) -> list[str]:
    """That the chart has the planted values, all of them and in their order."""
    at = list(belts.STABLE).index(found.characteristic)
    planted = [truth.measured[at] for truth in group if not math.isnan(truth.measured[at])]
    told = [point.value for point in found.points]
    place = f"{found.characteristic} of {found.name}"
    if len(told) != len(planted):
        return [f"{place}: {len(told)} points, but {len(planted)} were planted"]
    return [
        f"{place}, job {point.job}: {point.value}, but {value} was planted"
        for point, value in zip(found.points, planted, strict=True)
        if not math.isclose(point.value, value, abs_tol=1e-6)
    ]


def _wrong_notice(
    home: Home, name: str, alarms: set[Characteristic], waited: list[Spent]
) -> list[str]:
    """That the notice before the next job says what the newest point of each chart of the newest
    runs does.
    """
    told: set[Characteristic] = set()

    def ask() -> None:
        told.update(drift.characteristic for drift in drifts_for(home, name, None))

    spent = [timed(ask) for _ in range(2)]
    waited.append(Spent(min(one.wall_s for one in spent), min(one.cpu_s for one in spent)))
    told &= set(PLANTED)
    return [] if told == alarms else [f"{name}: the notice names {told}, the charts {alarms}"]
