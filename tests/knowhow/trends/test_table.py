"""The tables for those who cannot see a picture."""

from __future__ import annotations

from datetime import UTC, timedelta, timezone

import pytest

from recorder.knowhow.trends.chart import Month
from recorder.knowhow.trends.charting import chart
from recorder.knowhow.trends.table import day, factor, of_chart, of_months
from recorder.model.words import Words
from tests.knowhow.trends.made import BEGIN, CYCLE, GAP, PLATENS, run, runs

GERMAN = Words(
    say=lambda text, /, **values: text.format(**values), digits=lambda it: it.replace(".", ",")
)


def test_a_row_for_each_point() -> None:
    told = [
        run(0, finger_gap=0.4, finger_gap_U=0.06),
        run(1, finger_gap=0.5, finger_gap_U=0.06),
        run(2, finger_gap=0.1, gap_below=True),
    ]
    found = of_chart(chart(GAP, "press", "P2", told), zone=UTC)
    assert found.head == (
        "No.", "Date", "Job", "Splice", "Finger gap, mm", "U, mm", "Moving range, mm", "Signals",
    )  # fmt: skip
    assert found.rows == (
        ("1", "2026-01-05", "job 0", "1", "0.40", "0.06", "", ""),
        ("2", "2026-01-05", "job 1", "1", "0.50", "0.06", "0.10", ""),
        ("3", "2026-01-06", "job 2", "1", "below 0.10", "", "", ""),
    )


def test_values_in_another_unit_and_with_another_mark() -> None:
    found = of_chart(chart(GAP, "press", "P2", runs([25.4, 50.8])), GERMAN, "inch", UTC)
    assert found.head[4] == "Finger gap, in"
    assert [row[4] for row in found.rows] == ["1,000", "2,000"]
    assert found.rows[1][5] == "1,000"


def test_a_difference_of_temperatures_has_no_offset() -> None:
    told = [run(0, top_temperature=180.0, bottom_temperature=170.0)]
    found = of_chart(chart(PLATENS, "press", "P2", told), unit="degF")
    assert found.rows[0][4] == "18"
    assert factor("degC", "degF") == pytest.approx(1.8)


def test_a_signal_stands_at_each_point_that_breaks_its_rule() -> None:
    values = [600.0, 620.0] * 15 + [650.0] * 10
    found = of_chart(chart(CYCLE, "press", "P2", runs(values, "cycle_time")))
    assert "U, s" not in found.head
    assert "8 points in a row on one side of the centre" in found.rows[38][-1]
    assert "11 points in a row above the centre" in found.rows[39][-1]
    assert found.rows[10][-1] == ""


def test_months_with_their_sum() -> None:
    found = of_months([Month(month="2026-10", accepted=8, rework=1, open=2)])
    assert found.head == ("Month", "Accepted", "Rework", "Rejected", "Open", "All")
    assert found.rows == (("2026-10", "8", "1", "0", "2", "11"),)


def test_a_day_is_that_of_the_firm() -> None:
    late = BEGIN + timedelta(hours=14, minutes=30)
    assert day(late, UTC) == "2026-01-05"
    assert day(late, timezone(timedelta(hours=1))) == "2026-01-06"
