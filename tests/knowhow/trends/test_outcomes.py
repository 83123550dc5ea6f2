"""Outcomes by month, and a setting against the gap."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from recorder.knowhow.trends.chart import Month
from recorder.knowhow.trends.outcomes import months
from recorder.knowhow.trends.scatter import scatter
from recorder.model.past import PastRun
from tests.knowhow.trends.made import run


def done(at: str, outcome: str | None, splice: int = 1, turn: int = 1) -> PastRun:
    return PastRun(at, datetime.fromisoformat(at), splice, turn, outcome)


def test_a_splice_counts_once_by_its_last_run() -> None:
    told = [
        done("2026-10-02T09:00+00:00", "rework"),
        done("2026-10-02T09:00+00:00", "accepted", turn=2),
        done("2026-10-02T09:00+00:00", "rejected", splice=2),
        done("2026-10-30T09:00+00:00", None),
    ]
    assert months(told, UTC) == (Month(month="2026-10", accepted=1, rejected=1, open=1),)
    assert months(reversed(told), UTC) == months(told, UTC)


def test_a_month_without_splices_stands_between() -> None:
    told = [done("2025-12-30T09:00+00:00", "accepted"), done("2026-02-01T09:00+00:00", "rework")]
    assert months(told, UTC) == (
        Month(month="2025-12", accepted=1),
        Month(month="2026-01"),
        Month(month="2026-02", rework=1),
    )
    assert months([], UTC) == ()


def test_months_begin_where_the_firm_is() -> None:
    late = done("2026-10-31T23:30+00:00", "accepted")
    assert months([late], timezone(timedelta(hours=1)))[0].month == "2026-11"


def test_a_pair_needs_setting_and_gap() -> None:
    told = [
        run(0, top_temperature=172.0, finger_gap=0.4, outcome="accepted"),
        run(1, top_temperature=172.0),
        run(2, finger_gap=0.4),
        run(3, top_temperature=170.0, finger_gap=0.1, gap_below=True),
    ]
    found = scatter("top_temperature", told)
    assert [(it.setting, it.gap, it.outcome, it.below) for it in found.pairs] == [
        (172.0, 0.4, "accepted", False),
        (170.0, 0.1, None, True),
    ]
    assert found.correlation is None


def test_few_pairs_and_one_value_alone_correlate_with_nothing() -> None:
    rising = [run(n, pressure=2 + n / 10, finger_gap=0.3 + n / 100) for n in range(10)]
    assert scatter("pressure", rising).correlation == pytest.approx(1)
    assert scatter("pressure", rising[:9]).correlation is None
    flat = [run(n, pressure=2.0, finger_gap=0.3 + n / 100) for n in range(10)]
    assert scatter("pressure", flat).correlation is None


def test_a_gap_is_no_setting() -> None:
    with pytest.raises(ValueError, match="finger_gap is no setting"):
        scatter("finger_gap", [])
