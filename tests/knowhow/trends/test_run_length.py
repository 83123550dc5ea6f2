"""How soon a drift is told, and how seldom a stable process is: simulated with the very code."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from statistics import fmean

import pytest

from recorder.knowhow.trends import cusum
from recorder.knowhow.trends.individuals import BASELINE, ENOUGH, limits
from recorder.knowhow.trends.rules import broken_zones
from tests.knowhow.trends.theory import cusum_arl

Course = Callable[[int], float]


def alarmed(draw: Callable[[], float], judged: int, streams: int, size: bool, up: bool) -> float:
    """Share of streams of drawn values that alarm within so many that are judged."""
    count = 0
    for _ in range(streams):
        values = [(draw(), False) for _ in range(ENOUGH + judged)]
        count += bool(cusum.drifting(values, size=size, upwards_only=up))
    return count / streams


def first_alarm(course: Course, length: int, luck: random.Random) -> int | None:
    """Place of the first value that alarms. course: of the mean, in sigma, by place."""
    values = [(course(place) + luck.gauss(0, 1), False) for place in range(length)]
    return next((each.at for each in cusum.drifting(values)), None)


def delays(course: Course, begins: int, length: int, streams: int) -> list[int]:
    """Values from the change on until the alarm, of streams without one before the change."""
    luck = random.Random(7870)
    firsts = [first_alarm(course, length, luck) for _ in range(streams)]
    return [
        (length if first is None else first + 1) - begins
        for first in firsts
        if first is None or first >= begins
    ]


@pytest.mark.parametrize(("up", "sides"), [(False, 2), (True, 1)])
def test_a_stable_process_alarms_no_more_than_theory_says(up: bool, sides: int) -> None:
    streams, judged = 700, 120
    luck = random.Random(3)
    share = alarmed(lambda: luck.gauss(0, 1), judged, streams, False, up)
    theory = 1 - math.exp(-judged / cusum_arl(0.0, sides=sides))
    error = math.sqrt(theory * (1 - theory) / streams)
    assert share <= theory + 2 * error
    assert share >= theory / 2  # a chart that never speaks proves nothing


@pytest.mark.parametrize(
    "draw",
    [
        lambda luck: luck.gauss(0.5, 0.05),
        lambda luck: luck.gammavariate(4, 0.1),
        lambda luck: abs(luck.gauss(0, 0.2)),
    ],
    ids=["narrow", "skewed", "folded"],
)
def test_a_size_alarms_no_more_than_theory_says_however_skewed(
    draw: Callable[[random.Random], float],
) -> None:
    luck = random.Random(6)
    share = alarmed(lambda: draw(luck), 120, 500, True, True)
    theory = 1 - math.exp(-120 / cusum_arl(0.0, sides=1))
    assert share <= theory + 2 * math.sqrt(theory * (1 - theory) / 500)


def test_a_size_taken_as_it_is_would_alarm_twice_as_often() -> None:
    luck = random.Random(6)
    plain = alarmed(lambda: luck.gammavariate(4, 0.1), 120, 400, False, True)
    assert plain > 1.7 * (1 - math.exp(-120 / cusum_arl(0.0, sides=1)))


@pytest.mark.parametrize(("skewed", "runs"), [(False, 63), (True, 37)])
def test_zones_of_limits_from_a_baseline_signal_more_often(skewed: bool, runs: int) -> None:
    """As ``rules`` says: that is why no notice comes of them."""
    luck = random.Random(7)
    points = signals = 0
    for _ in range(250):
        values = [luck.gammavariate(4, 1) if skewed else luck.gauss(0, 1) for _ in range(150)]
        found = limits(values)
        assert found is not None
        broken = broken_zones([(value - found.centre) / found.sigma for value in values])
        first = min((each.at for each in broken if each.at >= BASELINE), default=None)
        points += 150 - BASELINE if first is None else first + 1 - BASELINE
        signals += first is not None
    assert points / signals == pytest.approx(runs, rel=0.2)


def test_a_shift_by_one_sigma_is_told_within_twelve_jobs() -> None:
    found = delays(lambda place: 1.0 if place >= 200 else 0.0, 200, 300, 300)
    assert fmean(found) <= 12
    assert fmean(found) == pytest.approx(cusum_arl(1.0), rel=0.12)


def test_after_a_short_past_a_shift_by_two_sigma_is_told_soon() -> None:
    found = delays(lambda place: 2.0 if place >= 30 else 0.0, 30, 130, 400)
    assert fmean(found) <= 6
    assert max(found) < 100


def test_wear_is_told_before_it_has_grown_to_three_sigma() -> None:
    found = delays(lambda place: 0.05 * max(0, place - 100), 100, 220, 300)
    assert fmean(found) * 0.05 <= 1.5
    assert sum(each * 0.05 > 3 for each in found) <= 3


def test_one_slip_is_no_drift() -> None:
    luck = random.Random(1)
    values = [(luck.gauss(0, 0.3), False) for _ in range(100)]
    values[50] = (500.0, False)
    assert cusum.drifting(values) == []


def test_what_drifts_does_not_become_usual_and_ends_when_it_is_mended() -> None:
    luck = random.Random(2)
    means = [0.0] * 60 + [2.0] * 200 + [0.0] * 40
    alarms = {each.at for each in cusum.drifting((m + luck.gauss(0, 1), False) for m in means)}
    assert set(range(75, 260)) <= alarms
    assert min(alarms) >= 60
    assert max(alarms) < 290


def test_values_that_are_all_alike_alarm_never_and_divide_by_nothing() -> None:
    assert cusum.drifting([(2.0, False)] * 50) == []
    assert cusum.drifting([(0.0, False)] * 50, 0.02, True) == []
    first = min(each.at for each in cusum.drifting([(2.0, False)] * 50 + [(9.0, False)] * 9))
    assert first >= 52


def test_a_bound_pulls_no_sum_up() -> None:
    luck = random.Random(4)
    usual = [(luck.gauss(0, 1), False) for _ in range(50)]
    assert cusum.drifting(usual + [(3.0, False)] * 5)
    assert not cusum.drifting(usual + [(3.0, True)] * 5)
    assert not cusum.drifting(usual + [(-3.0, True)] * 5)


def test_a_gap_that_grows_by_one_sigma_is_told_as_soon() -> None:
    luck = random.Random(9)
    found = []
    for _ in range(200):
        means = [0.5] * 300 + [0.55] * 100
        values = [(luck.gauss(mean, 0.05), False) for mean in means]
        broken = cusum.drifting(values, 0.02, True, True)
        first = next((each.at for each in broken), 399)
        found += [first - 299] if first >= 300 else []
    assert fmean(found) <= 12
