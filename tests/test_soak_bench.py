"""The bench of long sessions finds growth that is planted, and runs."""

import dataclasses
from pathlib import Path

import pytest

from recorder.archive.disk.home import Home
from tests.bench.soak import Minute, grown, soak

STEADY = [Minute(n, 400.0 + n / 10, 0.8 + n / 1000, 1.0, 50.0 * n, 7) for n in range(1, 61)]


def test_a_steady_session_has_not_grown() -> None:
    assert grown(STEADY) == []


@pytest.mark.parametrize(
    ("part", "told"),
    [
        ({"rss_mb": 520.0}, "memory grew from 402 to 520 MB"),
        ({"delay_s": 1.4}, "the delay grew from 0.82 to 1.40 s"),
        ({"threads": 8}, "threads grew from 7 to 8"),
    ],
)
def test_growth_is_found(part: dict[str, float], told: str) -> None:
    later = [dataclasses.replace(minute, **part) for minute in STEADY[40:]]  # type: ignore[arg-type]
    assert grown([*STEADY[:40], *later]) == [told]


def test_a_short_one_runs(tmp_path: Path) -> None:
    (minute,) = soak(Home.open(tmp_path / "home"), 1, scripted=True)
    assert minute.number == 1
    assert 0 < minute.delay_s <= minute.worst_s
    assert minute.rss_mb > 10
    assert minute.record_kb > 10
