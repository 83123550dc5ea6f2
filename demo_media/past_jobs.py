"""Fill a home with the past jobs of an invented firm: ``python -m demo_media.past_jobs HOME``.

Fifty jobs of June to November 2026 on two belts, with what the firm and a belt maker list.
Customers, sites, people and values are invented. Each job is a job card and a rendered photo,
NOT a photograph, that went through ``seamnote process``: the program measured what it shows. Press
P2 leaves wider gaps from its thirty-first job on, as one whose platen sags. Takes ten minutes.
"""

from __future__ import annotations

import multiprocessing
import random
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple
from unittest import mock

from demo_media.make_photos import PRINT_SCALE, SCENES
from demo_media.scene import Belt, jpeg
from recorder.archive.disk.home import Home
from recorder.flows.knowhow import firm, recipes
from recorder.flows.process import process
from recorder.flows.progress import Silent
from recorder.settings import Settings

HERE = Path(__file__).resolve().parent
LISTS = HERE / "firm"
FIRST = datetime(2026, 6, 2, 8, tzinfo=UTC)
SAGS_FROM = 30
SHARPNESS = 0.6  # of the pictures, by those of the demo: quick to render, and they measure 0.2 mm


class Kind(NamedTuple):
    """One belt of one customer, and how the firm splices it. Temperatures in °C, times in s."""

    card: dict[str, str]
    width_mm: float
    top: int
    dwell: int
    gap_mm: float


OVEN = Kind(
    {
        "customer": "Larkfield Bakery", "site": "Larkfield, packing hall 2",
        "conveyor": "Oven outfeed 3", "technician": "Imke Dorn", "press": "P2",
        "template": "T30-10", "belt_material": "Polyurethane (TPU), white", "belt_width": "70 mm",
        "belt_thickness": "2 mm",
    },
    width_mm=70.0, top=172, dwell=180, gap_mm=0.24,
)  # fmt: skip
PARCEL = Kind(
    {
        "customer": "Osterholm Parcel", "site": "Osterholm, sorting", "conveyor": "Merge 4",
        "technician": "Olaf Pell", "press": "P3", "template": "T30-10 S",
        "belt_material": "Polyurethane (TPU), black, matt", "belt_width": "60 mm",
        "belt_thickness": "2 mm",
    },
    width_mm=60.0, top=176, dwell=195, gap_mm=0.23,
)  # fmt: skip
# Splices of the oven's belt that were no good: the job of P2, outcome, top platen, dwell.
FAILED = {7: ("rejected", 185, 180), 16: ("rework", 172, 120), 23: ("rejected", 183, 180)}


class Past(NamedTuple):
    at: datetime
    card: str
    photo: tuple[float, float, int]  # gap and belt width in mm, and a seed


def pasts() -> Iterator[Past]:
    dice = random.Random(4761)
    p2, number = 0, 4761
    for day in range(50):
        of_p2 = day % 4 != 3 or number > 4807
        kind = OVEN if of_p2 else PARCEL
        at = FIRST + timedelta(days=round(3.55 * day), minutes=dice.randrange(400))
        outcome, top, dwell = (
            "accepted",
            kind.top + dice.choice((-2, -1, 0, 0, 0, 1, 2)),
            kind.dwell,
        )
        gap = dice.gauss(kind.gap_mm, 0.022)
        if of_p2:
            outcome, top, dwell = FAILED.get(p2, (outcome, top, dwell))
            gap += 0.06 if p2 >= SAGS_FROM else 0.0
            p2 += 1
        told = kind.card | {
            "job_number": str(number), "guide_profile": "flat", "splice_type": "finger",
            "finger_length": "30 mm", "finger_pitch": "10 mm", "isolation_confirmed": "yes",
            "pressure": f"{2.2 + dice.choice((-0.1, 0, 0, 0, 0.1)):.1f} bar",
            "top_temperature": f"{top} degC",
            "bottom_temperature": f"{top - 4 + dice.choice((-1, 0, 0, 1))} degC",
            "dwell_time": f"{dwell} s", "cool_down_temperature": "55 degC",
            "cycle_time": f"{dice.gauss(640, 14):.0f} s",
            "bubbles": "yes" if outcome == "rejected" else "no", "outcome": outcome,
        }  # fmt: skip
        yield Past(at, _toml(told), (round(gap, 3), kind.width_mm, number))
        number += 1


def _toml(told: dict[str, str]) -> str:
    lines = [f'{field} = "{text}"' for field, text in told.items()]
    photo = ("[[photo]]", 'file = "after.jpg"', 'stage = "after"')
    card = ("[reference_card]", 'lies_on = "belt"', f"print_scale = {list(PRINT_SCALE)}")
    return "\n".join((*lines, "", *photo, "", *card, ""))


def photo(asked: tuple[float, float, int]) -> bytes:
    gap_mm, width_mm, seed = asked
    dice = random.Random(seed)
    scene = SCENES["photo_3_accepted.jpg"]
    camera, flanks = scene.camera, 2 * round(width_mm / 10)
    gaps = [gap_mm * dice.uniform(0.8, 0.95) for _ in range(flanks)]
    gaps[dice.randrange(2, flanks - 2)] = gap_mm
    camera = replace(
        camera, width=round(camera.width * SHARPNESS), height=round(camera.height * SHARPNESS),
        focal_px=camera.focal_px * SHARPNESS, tilt_x_deg=dice.uniform(-5, 5),
        tilt_y_deg=dice.uniform(-5, 5), roll_deg=dice.uniform(-3, 3),
    )  # fmt: skip
    belt = Belt(
        thickness_mm=2.0, pitch_mm=10.0, finger_mm=30.0, pressed=True, width_mm=width_mm,
        gap_light=0.08, gaps_mm=tuple(gaps), offset_mm=abs(dice.gauss(0.2, 0.06)),
        skew_deg=dice.gauss(0, 0.06), turn_deg=dice.uniform(-0.8, 0.8),
    )  # fmt: skip
    return jpeg(replace(scene, camera=camera, belt=belt, look=replace(scene.look, seed=seed)))


def fill(home: Home) -> None:
    """Lists first, then job by job in the order of their days."""
    firm.take_inventory(home, LISTS / "inventory.toml")
    firm.take_conveyors(home, LISTS / "conveyors.toml")
    recipes.take_windows(home, LISTS / "windows.toml")
    made = list(pasts())
    with multiprocessing.Pool(2) as pool, tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "job"
        source.mkdir()
        for past, picture in zip(
            made, pool.imap(photo, [each.photo for each in made]), strict=True
        ):
            (source / "job.toml").write_text(past.card, encoding="utf-8")
            (source / "after.jpg").write_bytes(picture)
            with (
                mock.patch("recorder.flows.process._now", lambda at=past.at: at),
                mock.patch("recorder.flows.draft.write"),  # fifty drafts that nobody reads
            ):
                done = process(home, source, Settings(), Silent())
            (seam,) = done.job.measurements
            print(done.job.id, done.job.title(), seam.status, seam.gap_max, flush=True)


if __name__ == "__main__":
    fill(Home.open(Path(sys.argv[1])))
