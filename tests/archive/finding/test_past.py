"""Past runs out of the index, held against every run of every job."""

import random
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy.dialects import sqlite

from recorder.archive.disk.home import Home
from recorder.archive.finding.past import Past
from recorder.archive.index.database import Row
from recorder.archive.index.entries import entry
from recorder.archive.index.index import Index
from recorder.archive.index.runs import runs_in
from recorder.archive.index.tables import Tables
from recorder.model.belt import Belt, folded
from recorder.model.job import Job
from recorder.model.past import STREAMS, PastRun
from recorder.model.reading import Reading
from tests.archive.index.test_runs import photo, photographed
from tests.archive.sample_jobs import NOW, reading

JOBS = 120
MATERIALS = ("Corvane PU 80", "corvane  pu 80", "Corvane PU 95", "Tessil PVC 12")


def made(number: int) -> Job:
    """Older for a larger number; the same for the same one."""
    dice = random.Random(number)
    told: list[Reading] = [
        reading("job_number", str(number)),
        reading("customer", dice.choice(("Larkfield Bakery", "LARKFIELD bakery", "Veldt Sugar"))),
        reading("technician", dice.choice(("Mette Krogh", "Ida Sundby"))),
        reading("belt_material", dice.choice(MATERIALS)),
        reading("belt_thickness", dice.choice((2.0, 3.0))),
        reading("belt_width", dice.choice((400.0, 600.0, 609.6))),
    ]
    if dice.random() < 0.8:
        told.append(reading("press", dice.choice(("P2", "p2", "P 7"))))
    for splice in range(1, dice.choice((1, 2)) + 1):
        told.append(reading("template", dice.choice(("T80-20", "T60-15")), splice))
        for run in range(1, dice.choice((1, 1, 2)) + 1):
            told.append(reading("top_temperature", float(dice.randrange(165, 185)), splice, run))
        told.append(reading("outcome", dice.choice(("accepted", "rework", "rejected")), splice))
    at = NOW - timedelta(hours=number)
    job = Job(
        id=f"{at:%Y%m%d-%H%M%S}-{number:04x}", created_at=at, version="0.1.0", complete=True,
        readings=tuple(told),
    )  # fmt: skip
    return job.model_copy(update=photographed(photo("a.jpg", dice.random(), below=number % 9 == 0)))


@pytest.fixture(scope="module")
def every(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Past, list[PastRun]]]:
    """The runs in an index, and the same by hand, oldest first."""
    jobs = [made(number) for number in range(JOBS)]
    with Index.open(Home.open(tmp_path_factory.mktemp("past"))) as index:
        with index.database.transaction():
            Tables(index.database).put([entry(job, "") for job in jobs])
        yield Past(index), [run for job in reversed(jobs) for run in runs_in(job)]


def test_all_of_them_come_back_as_they_were(every: tuple[Past, list[PastRun]]) -> None:
    past, runs = every
    assert past.runs_between() == runs
    assert len(runs) > JOBS
    assert any(run.gap_below is True for run in runs)


def test_those_of_a_name_however_it_is_written(every: tuple[Past, list[PastRun]]) -> None:
    past, runs = every
    since, until = NOW - timedelta(hours=80), NOW - timedelta(hours=20)
    for stream in STREAMS:
        names = Counter(folded(name) for run in runs if (name := getattr(run, stream)))
        found = past.names_of(stream)
        assert {folded(name): count for name, count in found} == names
        assert [count for _, count in found] == sorted(names.values(), reverse=True)
        for name, _ in found:
            of = [run for run in runs if folded(getattr(run, stream) or "") == folded(name)]
            assert name == getattr(of[-1], stream)
            assert past.runs_of(stream, f" {name.upper()} ") == of
            some = past.runs_of(stream, name, since, until)
            assert some == [run for run in of if since <= run.at < until]
            assert len(some) > 1
            assert past.newest(stream, name, 5) == of[-5:]
    with pytest.raises(ValueError, match="site is no stream"):
        past.names_of("site")


def test_those_between_two_moments_of_one_customer(every: tuple[Past, list[PastRun]]) -> None:
    past, runs = every
    since, until = runs[40].at, runs[90].at
    assert past.runs_between(since, until) == [run for run in runs if since <= run.at < until]
    bakery = past.runs_between(since, customer="larkfield BAKERY")
    assert {run.customer for run in bakery} == {"Larkfield Bakery", "LARKFIELD bakery"}
    assert past.runs_between(customer="nobody") == []


def test_those_on_one_belt(every: tuple[Past, list[PastRun]]) -> None:
    past, runs = every
    asked = Belt(belt_material="CORVANE PU 80", belt_thickness=2.0, belt_width=609.6001)
    same = [
        run for run in runs
        if folded(run.belt_material or "") == "corvane pu 80"
        and (run.belt_thickness, run.belt_width) == (2.0, 609.6)
    ]  # fmt: skip
    assert past.runs_on(asked) == same
    assert len({run.belt_material for run in same}) == 2
    wide = past.runs_on(Belt(belt_width=600.0))
    assert wide == [run for run in runs if run.belt_width == 600.0]
    assert past.runs_on(Belt(belt_width=600.01)) == []
    assert past.runs_on(Belt(guide_profile="flat")) == []
    assert past.runs_on(Belt()) == []


def test_belts_with_their_numbers_of_runs(every: tuple[Past, list[PastRun]]) -> None:
    past, runs = every
    by_hand = Counter(_belt(run) for run in runs)
    found = past.belts()
    assert Counter({_folded(belt): count for belt, count in found}) == by_hand
    for belt, _ in found:
        assert belt == past.runs_on(belt)[-1].belt  # as it was written last


def test_belts_like_another_come_first(every: tuple[Past, list[PastRun]]) -> None:
    past, _ = every
    asked = Belt(belt_material="corvane pu 80", belt_thickness=2.5, belt_width=590.0)
    found = [belt for belt, _ in past.belts(asked)]
    materials = [folded(belt.belt_material or "") for belt in found]
    assert materials == ["corvane pu 80"] * 6 + ["corvane pu 95"] * 6 + ["tessil pvc 12"] * 6
    assert [belt.belt_width for belt in found[:6]] == [600.0, 600.0, 609.6, 609.6, 400.0, 400.0]
    assert [belt for belt, _ in past.belts(asked, most=4)] == found[:4]
    wide = [belt for belt, _ in past.belts(Belt(belt_thickness=2.9, belt_width=400.0))]
    assert {belt.belt_thickness for belt in wide[:9]} == {3.0}  # the width counts less
    unlike = [belt for belt, _ in past.belts(Belt(belt_width=405.0, splice_type="butt"))]
    assert {belt.belt_width for belt in unlike[:6]} == {400.0}


def test_a_job_that_does_not_count(every: tuple[Past, list[PastRun]]) -> None:
    past, runs = every
    newest = runs[-1]
    rest = [run for run in runs if run.job != newest.job]
    assert len(rest) < len(runs)
    assert past.runs_between(but=newest.job) == rest
    assert newest not in past.runs_on(newest.belt, but=newest.job)
    customer = newest.customer or ""
    of = [run for run in rest if folded(run.customer or "") == folded(customer)]
    assert past.runs_of("customer", customer, but=newest.job) == of
    assert past.newest("customer", customer, 3, but=newest.job) == of[-3:]
    assert sum(count for _, count in past.names_of("customer", but=newest.job)) == len(rest)
    assert sum(count for _, count in past.belts(but=newest.job)) == len(rest)
    assert past.runs_between(but="no such job") == runs


def test_no_lookup_reads_all_runs(every: tuple[Past, list[PastRun]]) -> None:
    """Not even of the first jobs, after which the plan stays."""
    past, runs = every
    database = past._database
    plans: list[str] = []

    def explained(statement: Any) -> list[Row]:
        plain = statement.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True})
        steps = database.rows(f"EXPLAIN QUERY PLAN {plain}")
        plans.append("; ".join(str(step[3]) for step in steps))
        return database.rows(statement)

    spied = Past(SimpleNamespace(database=SimpleNamespace(rows=explained)))  # type: ignore[arg-type]
    belt = runs[0].belt
    spied.runs_on(belt)
    spied.belts(belt)
    for stream in STREAMS:
        spied.runs_of(stream, "P2", since=NOW)
        spied.newest(stream, "P2", 3)
        spied.names_of(stream)
    spied.runs_between(since=NOW)
    spied.runs_between(since=NOW, customer="Veldt Sugar")
    assert len(plans) == 18
    assert not [plan for plan in plans if "SCAN runs" in plan or "SCAN jobs" in plan]
    newest = [plan for plan in plans if "runs_by_press (press_key=?)" in plan]
    assert newest
    assert not any("TEMP B-TREE" in plan for plan in newest)


def test_a_belt_of_which_no_job_is_left_leaves_no_trace(home: Home) -> None:
    kept, gone = made(1), made(2)
    with Index.open(home) as index:
        index.put(gone)
        alone = index.database.rows("SELECT * FROM belts")
        index.put(kept)
        assert len(Past(index).belts()) == 2
        assert index.bring(kept.id).damaged == ()  # it has no folder
        assert index.database.rows("SELECT * FROM belts") == alone
        assert Past(index).runs_between() == runs_in(gone)


def _belt(run: PastRun) -> Belt:
    return _folded(run.belt)


def _folded(belt: Belt) -> Belt:
    return belt.model_copy(update={"belt_material": folded(belt.belt_material or "")})
