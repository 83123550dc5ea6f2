"""Invented jobs for the tests of the archive."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.model.fields import FIELDS
from recorder.model.job import Job, MediaKind, PhotoNote
from recorder.model.measurement import Measurement, SeamMeasurement
from recorder.model.quantity import Quantity
from recorder.model.reading import Note, Reading, Role, Spoken, Standing, Typed
from recorder.model.transcript import Transcript, Utterance, Word

NOW = datetime(2026, 11, 25, 20, 45, 30, tzinfo=UTC)

SAID = (
    "larkfield bakery packing hall two oven outfeed three",
    "the press hisses at the left hose, it wants a new gasket",
    "pressure thirty two psi",
    "top platen one seven two, cool down to fifty five",
)


def reading(
    field: str,
    value: bool | float | str,
    splice: int = 1,
    run: int = 1,
    role: Role = Role.USED,
    standing: Standing = Standing.CLEAR,
    as_said: Quantity | None = None,
) -> Reading:
    return Reading(
        field=field,
        value=value,
        unit=FIELDS[field].unit,
        standing=standing,
        role=role,
        evidence=Spoken(file="narration.flac", said=str(value), start_s=1.0, end_s=2.0),
        splice=splice,
        run=run,
        as_said=as_said,
    )


def from_card(field: str, value: bool | float | str, role: Role = Role.USED) -> Reading:
    return Reading(
        field=field,
        value=value,
        unit=FIELDS[field].unit,
        standing=Standing.CLEAR,
        role=role,
        evidence=Typed(file="job.toml"),
    )


def transcript(*said: str, file: str = "narration.flac") -> Transcript:
    return Transcript(
        file=file,
        utterances=tuple(
            Utterance(
                words=tuple(
                    Word(text=word, start_s=10.0 * at, end_s=10.0 * at + 1, probability=0.9)
                    for word in text.split()
                ),
                start_s=10.0 * at,
                end_s=10.0 * at + 5,
            )
            for at, text in enumerate(said)
        ),
        duration_s=10.0 * len(said),
        model="scripted",
    )


BAKERY = (
    from_card("job_number", "4817"),
    from_card("customer", "Larkfield Bakery"),
    from_card("site", "Larkfield, packing hall 2"),
    from_card("conveyor", "Oven outfeed 3"),
    from_card("belt_material", "TPU CV-120A"),
    from_card("belt_width", 70.0),
    from_card("template", "T30-10"),
    from_card("top_temperature", 172.0, Role.ASKED),
    reading("finger_gap", 0.9, splice=1),
    reading("outcome", "rejected", splice=1),
    reading("pressure", 2.2063, splice=2, as_said=Quantity(value=32, unit="psi")),
    reading("top_temperature", 175.0, splice=2),
    reading("top_temperature", 172.0, splice=2, standing=Standing.CONFIRMED),
    reading("bottom_temperature", 168.0, splice=2, standing=Standing.DOUBTFUL),
    reading("bubbles", False, splice=2),
    reading("finger_gap", 0.35, splice=2),
    reading("outcome", "accepted", splice=2),
    reading("arrived_at", "2026-11-25T08:00:00+01:00"),
)

SEAMS = (
    SeamMeasurement(
        file="after.jpg",
        status="measured",
        gap_max=Measurement(value=0.15, unit="mm", U=0.05, below=True),
        splice_width=Measurement(value=70.2, unit="mm", U=0.1),
    ),
    SeamMeasurement(file="blurred.jpg", status="refused", reason="no card found"),
)


def media_files(folder: Path, seed: str = "") -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    contents = {"narration.flac": f"sound {seed}", "after.jpg": f"picture {seed}"}
    for name, content in contents.items():
        (folder / name).write_bytes(content.encode() * 1000)
    return [folder / name for name in contents]


def add_job(home: Home, source: Path, now: datetime = NOW, **changes: object) -> Job:
    """A saved job with two media files; ``changes`` to the understood parts of it."""
    files = media_files(source, f"{now.isoformat()} {source}")
    folder, job = JobFolder.create(home, files, [MediaKind.AUDIO, MediaKind.PHOTO], now)
    understood: dict[str, object] = {
        "complete": True,
        "readings": BAKERY,
        "transcripts": (transcript(*SAID),),
        "notes": (Note(text="edge of the belt is frayed", file="narration.flac", start_s=12.5),),
        "photos": (PhotoNote(file="after.jpg", caption="after pressing", splice=2),),
        "measurements": SEAMS,
    }
    job = job.model_copy(update=understood | changes)
    folder.save(job)
    return job


TALK = """belt press finger seam gap hose gasket roller frayed edge clean dry punched template heat
dwell cool platen pressure steady bubbles none customer night shift oven outfeed sorting baggage
gate parcel dough sugar salt dust worn guide groove tension marks tracking"""
WORDS = TALK.split()
CUSTOMERS = ("Larkfield Bakery", "Osterholm Parcel", "Veldt Sugar", "Crann Salt", "Tinbrook Mill")


def synthetic_job(number: int) -> Job:
    """A job of realistic size, the same one for the same number; not saved anywhere."""
    dice = random.Random(number)
    at = NOW - timedelta(hours=number)
    splices = range(1, dice.choice((1, 1, 2, 3)) + 1)
    readings = [
        reading("job_number", str(1000 + number)),
        reading("customer", dice.choice(CUSTOMERS)),
        reading("belt_material", f"TPU CV-{dice.randrange(60, 200)}A"),
        reading("belt_width", float(dice.randrange(20, 1200, 10))),
    ]
    for splice in splices:
        readings += [
            reading("pressure", round(dice.uniform(1, 4), 2), splice),
            reading("top_temperature", float(dice.randrange(150, 190)), splice),
            reading("bottom_temperature", float(dice.randrange(150, 190)), splice),
            reading("dwell_time", float(dice.randrange(60, 400)), splice),
            reading("cool_down_temperature", float(dice.randrange(40, 70)), splice),
            reading("finger_gap", round(dice.uniform(0, 1), 2), splice),
            reading("bubbles", dice.random() < 0.1, splice),
            reading("outcome", dice.choice(FIELDS["outcome"].choices), splice),
        ]
    said = [" ".join(dice.choices(WORDS, k=12)) for _ in range(25)]
    return Job(
        id=f"{at:%Y%m%d-%H%M%S}-{number % 65536:04x}",
        created_at=at,
        version="0.1.0",
        complete=True,
        readings=tuple(readings),
        transcripts=(transcript(*said),),
        notes=tuple(Note(text=text, file="narration.flac", start_s=1.0) for text in said[:3]),
    )
