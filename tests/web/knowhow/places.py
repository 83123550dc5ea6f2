"""A firm's lists, and jobs on one belt, for the pages of recipes, trends and preparation."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from starlette.testclient import TestClient

from recorder.archive.disk.home import Home
from recorder.archive.index.index import bring_up_to_date
from recorder.archive.jobs.folder import JobFolder
from recorder.flows.knowhow import firm
from recorder.flows.live.sessions import Sessions
from recorder.model.fields import FIELDS
from recorder.model.reading import Reading, Standing, Typed
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.house import House
from tests.web.conftest import PORT, paired_client
from tests.web.jobs.places import SETTINGS
from tests.web.live.server import Deaf

INVENTORY = """
[[press]]
name = "Press P2"
platen_width = "800 mm"
platen_length = "160 mm"
top = "210 degC"
last_check = 2024-10-01
check_days = 365

[[template]]
name = "T80-20 <b>"
splice_type = "finger"
finger_length = "80 mm"
finger_pitch = "20 mm"
guide_profiles = ["flat"]
width = "60 mm..650 mm"
"""
CONVEYORS = """
[[conveyor]]
customer = "Larkfield Bakery"
site = "Packing hall 2"
name = "Oven outfeed 3"
belt_material = "PU-20 green"
belt_width = "600 mm"
belt_thickness = "2 mm"
guide_profile = "flat"
pulley_1 = "250 mm"
pulley_2 = "200 mm"
centres = "4.2 m"
press = "Press P2"
"""


def pressed(home: Home, day: int, outcome: str = "accepted", **told: float | str) -> JobFolder:
    """A job of November 2026 with one press run, indexed."""
    values: dict[str, float | str] = {
        "customer": "Larkfield Bakery", "press": "Press P2", "technician": "Imke Dorn",
        "belt_material": "PU-20 green", "belt_thickness": 2.0, "belt_width": 600.0,
        "guide_profile": "flat", "splice_type": "finger", "pressure": 2.2,
        "top_temperature": 180.0, "bottom_temperature": 178.0, "dwell_time": 180.0,
        "cool_down_temperature": 60.0, "outcome": outcome, "job_number": f"51{day:02d}",
    }  # fmt: skip
    at = datetime(2026, 11, day, 9, tzinfo=UTC)
    folder, _ = JobFolder.create(home, [], [], at)
    readings = tuple(
        Reading.model_validate(
            {
                "field": field, "value": value, "unit": FIELDS[field].unit,
                "standing": Standing.CONFIRMED, "evidence": Typed(),
            }
        )
        for field, value in (values | told).items()
    )  # fmt: skip
    folder.update(lambda job: job.model_copy(update={"readings": readings, "complete": True}))
    bring_up_to_date(home, folder.id)
    return folder


def with_lists(home: Home, folder: Path) -> Home:
    for text, take in ((INVENTORY, firm.take_inventory), (CONVEYORS, firm.take_conveyors)):
        path = folder / "list.toml"
        path.write_text(text)
        take(home, path)
    return home


@contextmanager
def device_of(home: Home) -> Iterator[TestClient]:
    access = Access(home, Places(PORT), lambda line: None)
    sessions = Sessions(home, SETTINGS, None, hears=Deaf())
    yield paired_client(application(House(home, SETTINGS, None, sessions, access)), access)
    sessions.close()


def with_jobs(home: Home) -> Home:
    """Five jobs on one belt that were accepted, and one that was rejected."""
    for day in range(1, 6):
        pressed(home, day, top_temperature=178.0 + day, cycle_time=600.0 + 10 * day)
    pressed(home, 6, "rejected", top_temperature=165.0, customer="<b>Veldt")
    return home
