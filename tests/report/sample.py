"""The demo scenario as a finished job with drawn placeholder pictures, and other jobs like it."""

import hashlib
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw

from recorder.model.job import Job, MediaFile, MediaKind, PhotoNote
from recorder.model.measurement import (
    BudgetTerm,
    Flag,
    FlagKind,
    FlankGap,
    GapReading,
    Limit,
    Measurement,
    Place,
    SeamMeasurement,
    decisions_on,
    worst,
)
from recorder.model.quantity import Quantity
from recorder.model.reading import Note, Reading, Role, Spoken, Standing, Typed
from recorder.report.content.edition import Edition
from recorder.settings import HOUSE_LIMITS, ReportSettings

NOW = datetime(2025, 11, 25, 14, 32, 5, tzinfo=timezone(timedelta(hours=1)))
SETTINGS = ReportSettings(
    firm="Quillback Belt Service",
    address="14 Tannery Row, Larkfield",
    technician="Imke Dorn",
    units={"temperature": "degF", "pressure": "psi"},
)
SIGNER = "DEMO Imke Dorn"
EDITION = Edition(now=NOW, draft=False, signer=SIGNER)
DRAFT = Edition(now=NOW, draft=True, signer="")
LIMITS = (*HOUSE_LIMITS, Limit(name="splice_width", low=69.3, high=70.7, source="job card"))
CARD = Typed(file="job.toml")


def card(field: str, value: bool | float | str, unit: str | None = None, **more: Any) -> Reading:
    return Reading(
        field=field, value=value, unit=unit, evidence=CARD, standing=Standing.CONFIRMED, **more
    )


def told(
    field: str,
    value: bool | float | str,
    unit: str | None,
    said: str,
    at: float,
    standing: Standing = Standing.CLEAR,
    **more: Any,
) -> Reading:
    evidence = Spoken(file="narration.flac", said=said, start_s=at, end_s=at + 2.0)
    return Reading(
        field=field, value=value, unit=unit, evidence=evidence, standing=standing, **more
    )


def readings() -> tuple[Reading, ...]:
    asked = {"role": Role.ASKED}
    second = {"splice": 2}
    return (
        card("job_number", "4817"),
        card("customer", "Larkfield Bakery"),
        card("site", "Larkfield, packing hall 2"),
        card("conveyor", "Oven outfeed 3"),
        card("technician", "Imke Dorn"),
        card("belt_material", "polyurethane (TPU)"),
        card("belt_width", 70.0, "mm"),
        card("belt_thickness", 2.0, "mm"),
        card("guide_profile", "flat"),
        card("splice_type", "finger"),
        card("finger_length", 30.0, "mm"),
        card("finger_pitch", 10.0, "mm"),
        card("template", "T30-10"),
        card("press", "P2"),
        card("pressure", 2.2, "bar", **asked),
        card("top_temperature", 172.0, "degC", **asked),
        card("bottom_temperature", 168.0, "degC", **asked),
        card("dwell_time", 180.0, "s", **asked),
        card("cool_down_temperature", 55.0, "degC", **asked),
        told("isolation_confirmed", True, None, "conveyor is locked out", 3.0, Standing.CONFIRMED),
        told("outcome", "rejected", None, "this one is rejected", 41.5),
        told("bubbles", False, None, "no bubbles", 47.0, **second),
        told(
            "pressure", 2.206, "bar", "thirty two p s i", 55.0,
            as_said=Quantity(value=32.0, unit="psi"), **second,
        ),
        told("top_temperature", 175.0, "degC", "top one seventy five", 58.0, **second),
        told("top_temperature", 172.0, "degC", "no, make that one seventy two", 62.0, **second),
        told("bottom_temperature", 168.0, "degC", "bottom one sixty eight", 66.0, **second),
        told(
            "dwell_time", 180.0, "s", "dwell three minutes", 70.0,
            as_said=Quantity(value=3.0, unit="min"), **second,
        ),
        told(
            "cool_down_temperature", 55.0, "degC", "cooled down to fifty five", 81.0,
            Standing.DOUBTFUL, why="the two hearings differ", candidates=(45.0,), **second,
        ),
        told(
            "cycle_time", 660.0, "s", "eleven minutes all in all", 88.0,
            as_said=Quantity(value=11.0, unit="min"), **second,
        ),
        told("finger_gap", 0.1, "mm", "gap is a tenth", 92.0, **second),
        told("outcome", "accepted", None, "splice accepted", 96.0, Standing.CONFIRMED, **second),
        card("next_check", "after one week of running"),
    )  # fmt: skip


def measurement(file: str, gap: float, width: float) -> SeamMeasurement:
    found = {
        "gap_max": mm(gap, 0.08),
        "gap_mean": mm(gap * 0.6, 0.05),
        "splice_width": mm(width, 0.21),
        "belt_width": mm(70.02, 0.15),
        "belt_width_left": mm(70.04, 0.19),
        "belt_width_right": mm(70.0, 0.19),
        "edge_offset": mm(0.12, 0.1).model_copy(update={"below": True}),
        "edge_offset_upper": mm(-0.08, 0.1),
        "edge_offset_lower": mm(0.05, 0.1),
        "skew": Measurement(value=0.2, unit="deg", U=0.11),
        "bow": mm(0.11, 0.09),
        "finger_pitch": mm(10.01, 0.04),
        "finger_length": mm(30.02, 0.12),
    }
    decisions = decisions_on(found, LIMITS)
    return SeamMeasurement.model_validate(
        {
            "file": file,
            "status": "measured",
            **found,
            "gap_max_at": PLACE,
            "gap_profile": (GapReading(s_mm=31.5, at=PLACE, flank=5, gap=found["gap_max"]),),
            "flanks": tuple(
                FlankGap(
                    flank=n, begin=PLACE, end=PLACE,
                    gap_mean=mm(gap * (0.5 + 0.02 * n), 0.05), gap_max=mm(gap * 0.9, 0.08),
                )
                for n in range(1, 15)
            ),
            "finger_count": 7,
            "scale_px_per_mm": 12.5,
            "decisions": decisions,
            "decision": worst(decisions.values()),
            "conformity": {"finger_gap": 0.9876, "splice_width": 0.99999, "edge_offset": 0.00001},
            "overlay": f"derived/overlay/{file}",
            "plot": f"derived/overlay/plot_{file}",
            "limits": LIMITS,
            "budget": {name: budget(value) for name, value in found.items()},
            "lens": "found from the card in the photo",
            "flags": (
                (Flag(kind=FlagKind.OPEN_FINGER, text="finger 3 stands open", at=PLACE),)
                if gap > 0.8
                else ()
            ),
            "warnings": (NEVER_MEASURED,),
        }
    )  # fmt: skip


PLACE = Place(x_mm=-12.34, y_mm=4.06, px=(800.0, 500.0))
NEVER_MEASURED = "the print of the card was never measured: every length carries 1 % for it"


def mm(value: float, U: float) -> Measurement:
    return Measurement(value=value, unit="mm", U=U)


def budget(value: Measurement) -> tuple[BudgetTerm, ...]:
    """Terms that add up to the uncertainty of the value."""
    shares = {"corner noise": 0.5, "print scale": 0.3, "lens": 0.197, "edge scatter": 0.003}
    if value.unit == "deg":
        shares = {"corner noise": 1.0, "print scale": 0.0}
    return tuple(
        BudgetTerm(name=name, u=value.U / value.k * share**0.5) for name, share in shares.items()
    )


def draw_belt(path: Path, gap_px: int) -> None:
    """A belt with an open finger seam, drawn; not a photograph."""
    picture = Image.new("RGB", (1600, 1000), (96, 92, 88))
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, 140, 1600, 860), fill=(66, 120, 96))
    seam = [(700 + (200 if n % 2 else 0), 140 + round(n * 720 / 14)) for n in range(15)]
    pen.line(seam, fill=(20, 20, 20), width=gap_px, joint="curve")
    pen.rectangle((120, 300, 460, 640), fill=(244, 244, 240), outline=(0, 0, 0), width=6)
    pen.line((700, 90, 900, 90), fill=(240, 170, 0), width=8)
    path.parent.mkdir(parents=True, exist_ok=True)
    picture.save(path, quality=92)


def draw_plot(path: Path) -> None:
    """A gap along a seam, drawn; not measured."""
    picture = Image.new("RGB", (800, 400), (255, 255, 255))
    pen = ImageDraw.Draw(picture)
    pen.line([(x, 300 - 80 * (x // 90 % 2)) for x in range(40, 780, 5)], fill=(13, 86, 97), width=4)
    picture.save(path, quality=90)


def demo_job(folder: Path) -> Job:
    """The demo scenario; its media are written into ``folder``."""
    gaps = {"photo_1.jpg": (0.9, 26), "photo_2.jpg": (0.35, 12), "photo_3.jpg": (0.15, 5)}
    media = [_file(folder, "narration.flac", MediaKind.AUDIO, b"not heard in these tests")]
    for name, (_, gap_px) in gaps.items():
        draw_belt(folder / "original" / name, gap_px)
        draw_belt(folder / "derived/overlay" / name, gap_px)
        draw_plot(folder / "derived/overlay" / f"plot_{name}")
        media.append(
            _file(folder, name, MediaKind.PHOTO, (folder / "original" / name).read_bytes())
        )
    media.append(_file(folder, "job.toml", MediaKind.CARD, b'job_number = "4817"\n'))
    return Job(
        id="20251125-4817-larkfield-bakery",
        created_at=NOW - timedelta(hours=2),
        version="0.1.0",
        complete=True,
        media=tuple(media),
        readings=readings(),
        notes=(
            Note(text="belt is clean and dry", file="narration.flac", start_s=12.0),
            Note(text="fingers stand open, cutting it out", file="narration.flac", start_s=36.0),
        ),
        photos=(
            PhotoNote(file="photo_1.jpg", caption="Fingers stand open", stage="after", splice=1),
            PhotoNote(file="photo_2.jpg", caption="Meshed, in the press", stage="before", splice=2),
            PhotoNote(file="photo_3.jpg", caption="Finished splice", stage="after", splice=2),
        ),
        measurements=tuple(
            measurement(name, gap, 70.1) for name, (gap, _) in gaps.items()
        ),
    )  # fmt: skip


def without_annex(job: Job) -> Job:
    """The same without uncertainty budgets, whose tables take most of the time of a page."""
    bare = (seam.model_copy(update={"budget": {}}) for seam in job.measurements)
    return job.model_copy(update={"measurements": tuple(bare)})


def _file(folder: Path, name: str, kind: MediaKind, content: bytes) -> MediaFile:
    path = folder / "original" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return MediaFile(
        name=name,
        path=f"original/{name}",
        kind=kind,
        sha256=hashlib.sha256(content).hexdigest(),
        size_bytes=len(content),
    )
