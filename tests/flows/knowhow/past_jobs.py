"""Invented past jobs on one belt, for the tests of what they teach."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.model.job import Job, PhotoNote
from recorder.model.measurement import Measurement, SeamMeasurement
from recorder.model.reading import Reading, Role, Standing
from tests.archive.sample_jobs import NOW, add_job, from_card, reading

BELT: dict[str, str | float] = {
    "belt_material": "TPU CV-120A",
    "belt_thickness": 2.0,
    "belt_width": 70.0,
    "guide_profile": "flat",
    "splice_type": "finger",
}


def told(
    number: str,
    outcome: str | None,
    top: float | None = 172.0,
    press: str | None = "P 600",
    standing: Standing = Standing.CLEAR,
    **belt: str | float | None,
) -> tuple[Reading, ...]:
    """Readings of a job with one press run. standing: of the top platen's temperature."""
    readings = [from_card("job_number", number)]
    readings += [from_card(n, v) for n, v in (BELT | belt).items() if v is not None]
    readings += [from_card("press", press)] if press else []
    readings.append(reading("pressure", 2.2))
    readings += [reading("top_temperature", top, standing=standing)] if top else []
    readings += [reading("outcome", outcome)] if outcome else []
    return tuple(readings)


def asks(**settings: float) -> tuple[Reading, ...]:
    return tuple(from_card(name, value, Role.ASKED) for name, value in settings.items())


def keep_job(home: Home, readings: tuple[Reading, ...], days: int = 0, gap: float = 0.2) -> Job:
    """A job of so many days ago with a photo after pressing, in the folder and in the index."""
    at: datetime = NOW - timedelta(days=days)
    source: Path = home.root.parent / f"from the camera {days} {len(list(home.jobs.iterdir()))}"
    seam = SeamMeasurement(
        file="after.jpg",
        status="measured",
        gap_max=Measurement(value=gap, unit="mm", U=0.05),
        splice_width=Measurement(value=70.1, unit="mm", U=0.1),
    )
    job = add_job(
        home, source, at, readings=readings, measurements=(seam,), transcripts=(), notes=(),
        photos=(PhotoNote(file="after.jpg", stage="after"),),
    )  # fmt: skip
    bring_up_to_date(home, job.id)
    return job
