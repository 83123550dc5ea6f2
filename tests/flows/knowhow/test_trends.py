"""What a home of past jobs shows over time."""

import csv
import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from recorder.errors import UnknownName, WrongUse
from recorder.flows.knowhow import trend_tables, trends
from recorder.knowhow.trends.chart import Characteristic
from recorder.model.past import STREAMS, PastRun
from tests.flows.knowhow.light_jobs import FIRST, STABLE, home_of, job, jobs

GAP = Characteristic.FINGER_GAP
WORN = tuple(round(gap + 0.08, 2) for gap in STABLE[:12])  # by more than three sigma


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """Press P2 runs stable and then wears, P3 runs stable with one splice that was rejected."""
    worn = jobs((*STABLE, *WORN))
    good = jobs(
        STABLE, FIRST + timedelta(hours=1), press="P3", customer="Veldt Sugar", template="T80-20"
    )
    bad = job(5000, FIRST + timedelta(days=40), 0.24, press="p3", outcome="rejected",
              customer="veldt  SUGAR", template="T80-20")  # fmt: skip
    return home_of(tmp_path_factory.mktemp("trends"), [*worn, *good, bad])


def test_a_chart_is_that_of_the_press_however_its_name_is_written(home: Home) -> None:
    chart = trends.chart_of(home, GAP, "press", " p2 ")
    assert (chart.name, chart.unit) == ("P2", "mm")
    assert [point.value for point in chart.points] == [*STABLE, *WORN]
    assert chart.limits
    assert chart.limits.centre == pytest.approx(sum(STABLE) / 30)
    assert trends.chart_of(home, GAP, "all").points[0].job == chart.points[0].job
    assert len(trends.chart_of(home, GAP, "all").points) == 30 + 12 + 31


def test_a_chart_begins_anew_where_a_person_says_so(home: Home) -> None:
    since = FIRST + timedelta(hours=20 * 30)
    chart = trends.chart_of(home, GAP, "press", "P2", since=since)
    assert [point.value for point in chart.points] == list(WORN)
    until = trends.chart_of(home, GAP, "press", "P2", until=since)
    assert [point.value for point in until.points] == list(STABLE)
    assert not until.signals


@pytest.mark.parametrize(
    ("stream", "name", "told"),
    [
        ("press", "P22", "there is no press 'P22'; did you mean 'P2'"),
        ("customer", "Veld Sugar", "did you mean 'veldt SUGAR'"),
        ("technician", "", "there is no technician ''; there is 'Imke Dorn'; see"),
    ],
)
def test_an_unknown_name_offers_near_ones(home: Home, stream: str, name: str, told: str) -> None:
    with pytest.raises(UnknownName) as caught:
        trends.chart_of(home, GAP, stream, name)
    assert told in str(caught.value)
    assert caught.value.exit_code == 2


def test_what_wears_is_told_first_and_once_before_the_next_job(home: Home) -> None:
    lines = trends.overview(home)
    first = lines[0]
    assert (first.stream, first.name, first.characteristic) == ("press", "P2", GAP)
    assert trends.drifts(first)
    drifting = {(line.stream, line.name) for line in lines if trends.drifts(line)}
    assert drifting >= {("press", "P2"), ("template", "T30-10")}
    assert not drifting & {("press", "p3"), ("template", "T80-20")}
    assert {line.stream for line in lines} == set(STREAMS)
    (drift,) = trends.drifts_for(home, "p2", None)
    assert (drift.stream, drift.name, drift.characteristic) == ("press", "P2", GAP)
    assert trends.drifts_for(home, "P3", "T80-20") == ()
    assert trends.drifts_for(home, "P99", None) == trends.drifts_for(home, None, None) == ()
    assert ("press", "P2") in {(each.stream, each.name) for each in trends.drifting(home)}


def test_the_job_at_work_does_not_count_in_its_own_warning(tmp_path: Path) -> None:
    every = jobs((*STABLE, *WORN))
    home = home_of(tmp_path, every)
    trends.overview(home)  # makes the index
    assert trends.drifts_for(home, "P2", None, but=every[-1].id)
    newest = {each.signal.at for each in trends.drifts_for(home, "P2", None)}
    before = {each.signal.at for each in trends.drifts_for(home, "P2", None, but=every[-1].id)}
    assert {at - 1 for at in newest} == before


def test_outcomes_by_month_of_a_customer(home: Home) -> None:
    months = trends.months_of(home, stream="customer", name="veldt sugar", zone=UTC)
    assert [(each.month, each.accepted, each.rejected) for each in months] == [
        ("2026-10", 30, 0),
        ("2026-11", 0, 1),
    ]
    until = datetime(2026, 11, 1, tzinfo=UTC)
    assert sum(each.accepted for each in trends.months_of(home, until=until, zone=UTC)) == 66


def test_a_setting_against_the_gap(home: Home) -> None:
    found = trends.scatter_of(home, "top_temperature", stream="press", name="P3")
    assert len(found.pairs) == 31
    with pytest.raises(WrongUse, match="did you mean dwell_time"):
        trends.scatter_of(home, "dwel_time")


def test_a_characteristic_as_a_person_writes_it() -> None:
    assert trends.characteristic(" Finger gap") is GAP
    with pytest.raises(UnknownName, match="did you mean width_error"):
        trends.characteristic("width_eror")
    with pytest.raises(UnknownName, match="use finger_gap, width_error"):
        trends.characteristic("xyz")


def test_a_home_without_jobs_has_nothing_to_tell(tmp_path: Path) -> None:
    home = home_of(tmp_path, ())
    assert trends.overview(home) == ()
    assert trends.drifting(home) == ()
    assert trends.months_of(home) == ()
    assert trends.chart_of(home, GAP, "all").points == ()


def test_tables_for_other_programs(home: Home) -> None:
    chart = trends.chart_of(home, GAP, "press", "P2")
    rows = list(csv.DictReader(io.StringIO(trend_tables.of_chart(chart))))
    assert [float(row["finger_gap_mm"]) for row in rows] == [*STABLE, *WORN]
    assert rows[0]["moving_range_mm"] == rows[0]["rules"] == ""
    assert "drift" in rows[-1]["rules"].split()
    months = trend_tables.of_months(trends.months_of(home, zone=UTC)).splitlines()
    assert months[0] == "month,accepted,rework,rejected,open"
    pairs = trend_tables.of_scatter(trends.scatter_of(home, "pressure")).splitlines()
    assert pairs[0] == "job,pressure_bar,finger_gap_mm,below,outcome"
    assert len(pairs) == 1 + 30 + 12 + 31


def test_what_drifts_is_found_again_only_when_a_job_joined(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = home_of(tmp_path, jobs(STABLE))
    assert trends.drifting(home) == ()  # there is no index yet
    trends.overview(home)
    made: list[int] = []

    def drifts_of(runs: list[PastRun]) -> tuple[()]:
        made.append(len(runs))
        return ()

    monkeypatch.setattr(trends, "drifts_of", drifts_of)
    assert trends.drifting(home) == trends.drifting(home) == ()
    assert made == [30]
    home_of(tmp_path, jobs(WORN, FIRST + timedelta(days=30)))
    trends.overview(home)
    trends.drifting(home)
    assert made == [30, 42]


def test_all_charts_are_found_again_only_when_a_job_joined(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = home_of(tmp_path, jobs(STABLE))
    first = trends.overview(home)
    assert trends.overview(home)[0].points == 30
    monkeypatch.setattr(trends, "lines", lambda runs: ())
    assert trends.overview(home) == first
    home_of(tmp_path, jobs(WORN, FIRST + timedelta(days=30)))
    assert trends.overview(home) == ()
