"""Past runs to charts: what is observed, the limits, the signals, and who is told of a drift."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from recorder.knowhow.trends.chart import Characteristic
from recorder.knowhow.trends.charting import chart, latest, newest
from recorder.knowhow.trends.drifting import drifting, drifts_in
from recorder.knowhow.trends.individuals import BASELINE, limits
from recorder.knowhow.trends.observed import label, observed, stream_label
from tests.knowhow.trends.made import CYCLE, GAP, PLATENS, run, runs
from tests.knowhow.trends.theory import cusum_arl


def steady(count: int, centre: float = 0.5, sigma: float = 0.05) -> list[float]:
    luck = random.Random(11)
    return [luck.gauss(centre, sigma) for _ in range(count)]


def test_each_characteristic_is_read_from_a_run() -> None:
    told = run(
        0, finger_gap=0.4, finger_gap_U=0.06, splice_width=601.2, splice_width_U=0.8,
        belt_width=600.0, edge_offset=0.3, edge_offset_U=0.1, cycle_time=610.0,
        top_temperature=172.1, bottom_temperature=170.0,
    )  # fmt: skip
    found = {it: (seen.value, seen.U) for it in Characteristic for seen in observed(it, [told])}
    assert found == {
        Characteristic.FINGER_GAP: (0.4, 0.06),
        Characteristic.WIDTH_ERROR: (pytest.approx(1.2), 0.8),
        Characteristic.EDGE_OFFSET: (0.3, 0.1),
        Characteristic.CYCLE_TIME: (610.0, None),
        Characteristic.PLATEN_DIFFERENCE: (2.1, None),
    }
    assert [seen for it in Characteristic for seen in observed(it, [run(0)])] == []


def test_points_stand_in_the_order_of_time_however_the_runs_come() -> None:
    told = runs([0.1, 0.2, 0.4])
    found = chart(GAP, "press", "P2", reversed(told))
    assert [point.value for point in found.points] == [0.1, 0.2, 0.4]
    assert [point.moving_range for point in found.points] == [None, *map(pytest.approx, (0.1, 0.2))]


def test_no_points_and_one_have_no_limits() -> None:
    for count in (0, 1):
        found = chart(GAP, "press", "P2", runs([0.4] * count))
        assert len(found.points) == count
        assert found.limits is None
        assert found.signals == ()
        assert newest(found) is None


@pytest.mark.parametrize("bounds", [0, 3])
def test_the_newest_point_alone_says_what_the_whole_chart_says_of_it(bounds: int) -> None:
    """bounds: how many of the last points were too narrow to measure."""
    values = [*steady(40), *steady(12, 0.7), 0.9, 0.95, 0.2]
    for count in range(len(values) + 1):
        told = runs(values[:count])
        told = [replace(it, gap_below=place >= count - bounds) for place, it in enumerate(told)]
        whole, found = chart(GAP, "press", "P2", told), latest(GAP, told)
        if found is None:
            assert whole.points == ()
            continue
        assert (found.points, found.at) == (len(whole.points), whole.points[-1].at)
        assert found.signal == newest(whole)


def test_limits_come_from_the_baseline_alone_and_are_provisional_until_then() -> None:
    values = steady(BASELINE) + [5.0] * 20
    short, full = limits(values[: BASELINE - 1]), limits(values)
    assert short is not None
    assert short.provisional
    assert short.baseline == BASELINE - 1
    assert full is not None
    assert not full.provisional
    assert full == limits(values[:BASELINE])
    assert full.upper < 1


def test_a_slip_within_the_baseline_is_set_aside() -> None:
    values = steady(BASELINE)
    slipped = [*values[:12], 3.0, *values[13:]]
    clean, found = limits(values), limits(slipped)
    assert clean is not None
    assert found is not None
    assert found.upper == pytest.approx(clean.upper, abs=0.03)
    signals = chart(GAP, "press", "P2", runs(slipped)).signals
    assert ("beyond", 12) in {(each.rule, each.at) for each in signals}


def test_a_size_has_no_limit_below_nothing() -> None:
    values = [0.02, 0.2] * 10
    found = chart(GAP, "press", "P2", runs(values)).limits
    cycle = chart(CYCLE, "press", "P2", runs(values, "cycle_time")).limits
    assert found is not None
    assert found.lower == 0
    assert cycle is not None
    assert cycle.lower < 0


def test_equal_values_neither_divide_by_nothing_nor_signal() -> None:
    told = [run(place, top_temperature=172.0, bottom_temperature=170.0) for place in range(40)]
    found = chart(PLATENS, "press", "P2", told)
    assert found.limits is not None
    assert found.limits.sigma == 0.5
    assert found.signals == ()
    hotter = run(40, top_temperature=173.0, bottom_temperature=170.0)
    assert chart(PLATENS, "press", "P2", [*told, hotter]).signals == ()


def test_rounded_values_at_the_centre_lie_on_neither_side() -> None:
    turns = (169.0, 170.0, 171.0, 170.0, 170.0)
    told = [run(n, top_temperature=172.0, bottom_temperature=turns[n % 5]) for n in range(30)]
    told += [run(n, top_temperature=172.0, bottom_temperature=170.0) for n in range(30, 60)]
    assert chart(PLATENS, "press", "P2", told).signals == ()


def test_a_gap_under_the_quantification_limit_signals_nothing() -> None:
    told = runs(steady(40))
    bounds = [run(place, finger_gap=0.05, gap_below=True) for place in range(40, 60)]
    found = chart(GAP, "press", "P2", told + bounds)
    assert [point.below for point in found.points[-2:]] == [True, True]
    assert all(each.at < 40 for each in found.signals)
    seen = [run(place, finger_gap=0.05) for place in range(40, 60)]
    assert any(each.at >= 40 for each in chart(GAP, "press", "P2", told + seen).signals)


def test_a_growing_gap_is_a_drift_and_a_shrinking_one_is_none() -> None:
    for step, told in ((0.1, {"drift"}), (-0.1, set())):
        values = [value + step * (place >= 60) for place, value in enumerate(steady(90))]
        found = chart(GAP, "press", "P2", runs(values))
        assert {each.rule for each in found.signals if each.rule == "drift"} == told
        assert len(drifts_in("press", "P2", runs(values))) == len(told)


def test_a_cycle_that_grows_shorter_is_a_drift() -> None:
    values = [value - 60 * (place >= 60) for place, value in enumerate(steady(90, 600, 30))]
    (drift,) = drifts_in("template", "T30-10", runs(values, "cycle_time"))
    assert (drift.stream, drift.name, drift.signal.side) == ("template", "T30-10", "below")
    assert drift.signal.text.startswith("crept down over the last ")
    assert 60 <= (drift.signal.first or 0) < 75


def test_splices_of_one_job_are_no_witnesses_of_their_own() -> None:
    """Three alike in each job: as single points, chance would look like a drift far more often."""
    luck = random.Random(12)
    apart = together = 0
    for _ in range(60):
        told = []
        for job in range(50):
            belt = luck.gauss(600, 20)
            told += [run(3 * job + n, cycle_time=belt + luck.gauss(0, 8)) for n in range(3)]
        alike = [replace(it, job=f"job {n // 3}", splice=n % 3 + 1) for n, it in enumerate(told)]
        apart += bool(drifting(CYCLE, observed(CYCLE, told)))
        together += bool(drifting(CYCLE, observed(CYCLE, alike)))
    assert together <= 60 * (1 - math.exp(-40 / cusum_arl(0.0))) + 5
    assert apart > 4 * together


def test_a_drift_of_jobs_ends_at_the_last_splice_of_the_newest() -> None:
    values = [value + 0.2 * (place >= 80) for place, value in enumerate(steady(120))]
    told = [replace(it, job=f"job {n // 2}", splice=n % 2 + 1) for n, it in enumerate(runs(values))]
    (drift,) = drifts_in("press", "P2", told)
    assert drift.signal.at == 119
    assert drift.signal.since % 2 == 0
    assert 80 <= (drift.signal.first or 0) <= 95


def test_a_drift_that_ended_is_told_to_nobody() -> None:
    values = [value + 0.2 * (40 <= place < 60) for place, value in enumerate(steady(120))]
    found = chart(GAP, "press", "P2", runs(values))
    assert "drift" in {each.rule for each in found.signals}
    assert drifts_in("press", "P2", runs(values)) == ()


def test_drifts_of_runs_are_those_of_their_charts() -> None:
    values = [value + 0.1 * (place >= 60) for place, value in enumerate(steady(90))]
    told = runs(values)
    newest_ones = [newest(chart(it, "press", "P2", told)) for it in Characteristic]
    (drift,) = drifts_in("press", "P2", told)
    assert [each for each in newest_ones if each] == [drift.signal]


def test_characteristics_and_streams_have_names() -> None:
    assert [label(it) for it in Characteristic] == [
        "Finger gap", "Width error", "Edge offset", "Cycle time", "Platen difference",
    ]  # fmt: skip
    assert [stream_label(it, "P2") for it in ("press", "template", "all")] == [
        "press P2", "template P2", "all jobs",
    ]  # fmt: skip
    assert stream_label("press", "Press 2") == "Press 2"
    assert stream_label("press", "Pressmaster") == "press Pressmaster"
    assert stream_label("technician", "A. B.") == "technician A. B."
    assert stream_label("customer", "A. B.") == "customer A. B."
