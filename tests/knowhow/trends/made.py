"""Made-up press runs for charts: values of one characteristic, eight hours apart."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from recorder.knowhow.trends.chart import Characteristic
from recorder.model.past import PastRun

BEGIN = datetime(2026, 1, 5, 9, 0, tzinfo=UTC)


def run(place: int, **told: object) -> PastRun:
    """The run of the job at a place in time; what is told of it beyond that."""
    at = BEGIN + timedelta(hours=8 * place)
    return PastRun(job=f"job {place}", at=at, **told)  # type: ignore[arg-type]


def runs(values: Iterable[float], field: str = "finger_gap") -> list[PastRun]:
    return [run(place, **{field: value}) for place, value in enumerate(values)]


GAP = Characteristic.FINGER_GAP
CYCLE = Characteristic.CYCLE_TIME
PLATENS = Characteristic.PLATEN_DIFFERENCE
