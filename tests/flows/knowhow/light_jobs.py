"""A home of light past jobs, many in little time: a record each, and no originals."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from recorder.archive.disk.home import Home
from recorder.archive.jobs.record import dump
from recorder.model.job import FILE_NAME, Job, MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import Measurement, SeamMeasurement
from tests.archive.sample_jobs import from_card, reading

FIRST = datetime(2026, 10, 2, 12, tzinfo=UTC)
# A stable process in mm, by hand: mean 0.22, and no point that breaks a rule.
STABLE = (
    0.20, 0.25, 0.21, 0.18, 0.24, 0.23, 0.19, 0.26, 0.20, 0.23, 0.18, 0.25, 0.22, 0.21, 0.26,
    0.19, 0.24, 0.20, 0.23, 0.21, 0.25, 0.19, 0.22, 0.24, 0.20, 0.23, 0.21, 0.18, 0.25, 0.22,
)  # fmt: skip

_CARD: dict[str, str | float] = {
    "customer": "Larkfield Bakery",
    "technician": "Imke Dorn",
    "belt_material": "TPU CV-120A",
    "belt_width": 70.0,
    "press": "P2",
    "template": "T30-10",
}
_USED: dict[str, str | float] = {
    "pressure": 2.2,
    "top_temperature": 172.0,
    "bottom_temperature": 168.0,
    "dwell_time": 180.0,
    "cycle_time": 720.0,
    "outcome": "accepted",
}


def job(number: int, at: datetime, gap: float | None, **told: str | float | None) -> Job:
    """One splice, pressed once. told: values by field, in place of the usual ones; None: no one."""
    card = {"job_number": str(number), **{n: told.get(n, v) for n, v in _CARD.items()}}
    used = {**_USED, **{name: value for name, value in told.items() if name not in _CARD}}
    made = Job(
        id=f"{at:%Y%m%d-%H%M%S}-{number % 65536:04x}",
        created_at=at,
        version="0.1.0",
        complete=True,
        readings=(
            *(from_card(name, value) for name, value in card.items() if value is not None),
            *(reading(name, value) for name, value in used.items() if value is not None),
        ),
    )
    if gap is None:
        return made
    seam = SeamMeasurement(
        file="after.jpg",
        status="measured",
        gap_max=Measurement(value=gap, unit="mm", U=0.05),
        splice_width=Measurement(value=round(70.0 + gap / 2, 3), unit="mm", U=0.1),
    )
    file = MediaFile(
        name="after.jpg", path="after.jpg", kind=MediaKind.PHOTO, sha256="0", size_bytes=1
    )
    photo = PhotoNote(file="after.jpg", stage="after")
    seen = {"media": (file,), "photos": (photo,), "measurements": (seam,)}
    return made.model_copy(update=seen)


def jobs(gaps: Iterable[float], first: datetime = FIRST, **told: Any) -> list[Job]:
    """A job for each gap, 20 hours apart."""
    step = timedelta(hours=20)
    return [job(4000 + n, first + n * step, gap, **told) for n, gap in enumerate(gaps)]


def home_of(path: Path, every: Iterable[Job]) -> Home:
    made = Home.open(path / "home")
    for each in every:
        (made.jobs / each.id).mkdir()
        (made.jobs / each.id / FILE_NAME).write_bytes(dump(each))
    return made
