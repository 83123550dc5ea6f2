"""A home with jobs of every kind for the pages, and a server over it in this process."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import uvicorn
from playwright.sync_api import BrowserContext

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows import report
from recorder.flows.live.sessions import Sessions
from recorder.flows.progress import Silent
from recorder.model.job import MediaKind
from recorder.model.reading import Note, Reading, Spoken, Standing
from recorder.report.identity import identity
from recorder.report.identity.identity import Identity
from recorder.settings import ReportSettings, Settings
from recorder.web import listening
from recorder.web.access.access import Access
from recorder.web.access.places import Places
from recorder.web.app import application
from recorder.web.house import House
from tests.report import jobs
from tests.web.live.server import Deaf

NARRATION = Path(__file__).parents[3] / "demo_media" / "job" / "narration.flac"
SETTINGS = Settings(
    report=ReportSettings(
        firm="Quillback Belt Service", technician="Imke Dorn", units={"temperature": "degF"}
    )
)
PASSPHRASE = "of the tests"
HOSTILE = "<script>alert(1)</script> \u202eydaer\u202c " + "Zwischenlagerförderband" * 20


@dataclass(frozen=True)
class Made:
    """A home with a key and its jobs by name."""

    home: Home
    key: Identity
    jobs: dict[str, JobFolder]


def furnished(root: Path) -> Made:
    """One of a loud plant with photos, one without, one with real sound, one of a stranger's."""
    home = Home.open(root)
    key = identity.create(home.identity / "signer.p12", PASSPHRASE, "Imke Dorn", "Quillback")
    made = {
        "doubtful": jobs.into_home(home, jobs.doubtful, megapixels=0.7),
        "no_photo": jobs.into_home(home, jobs.no_photo),
    }
    made["heard"] = with_sound(home)
    made["hostile"] = hostile(home)
    made["signed"] = signed(home, key)
    return Made(home, key, made)


def told(field: str, value: bool | float | str, unit: str | None, **more: object) -> Reading:
    evidence = Spoken(file=NARRATION.name, said=f"{field} {value}", start_s=12.0, end_s=13.5)
    given = {"standing": Standing.CLEAR, "evidence": evidence, **more}
    return Reading.model_validate({"field": field, "value": value, "unit": unit, **given})


def with_sound(home: Home) -> JobFolder:
    """One doubt of each kind, and the sound behind it."""
    now = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
    folder, _ = JobFolder.create(home, [NARRATION], [MediaKind.AUDIO], now)
    doubtful = {"standing": Standing.DOUBTFUL, "why": "the hearings differ"}
    readings = (
        told("customer", "Larkfield Bakery", None),
        told("job_number", "4817", None),
        told("top_temperature", 172.0, "degC", **doubtful, candidates=(178.0,)),
        told("isolation_confirmed", True, None, **doubtful),
        told("outcome", "accepted", None, **doubtful),
    )
    folder.update(
        lambda job: job.model_copy(
            update={
                "readings": readings,
                "complete": True,
                "notes": (Note(text="the left hose hisses", file=NARRATION.name, start_s=4.0),),
            }
        )
    )
    return folder


def signed(home: Home, key: Identity) -> JobFolder:
    """A job without a doubt, and its report, which the customer has not signed yet."""
    now = datetime(2026, 11, 23, 9, 30, tzinfo=UTC)
    folder, _ = JobFolder.create(home, [NARRATION], [MediaKind.AUDIO], now)
    sure = {"standing": Standing.CONFIRMED}
    readings = (
        told("customer", "Osterholm Parcel", None, **sure),
        told("isolation_confirmed", True, None, **sure),
        told("outcome", "accepted", None, **sure),
    )
    folder.update(lambda job: job.model_copy(update={"readings": readings, "complete": True}))
    report.write(home, folder, SETTINGS, key, Silent())
    return folder


def hostile(home: Home) -> JobFolder:
    """Names that a stranger chose."""
    now = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
    folder, _ = JobFolder.create(home, [NARRATION], [MediaKind.AUDIO], now)
    readings = (
        told("customer", HOSTILE, None),
        told("job_number", '"><img src=x onerror=alert(2)>', None),
        told("materials", HOSTILE, None, standing=Standing.DOUBTFUL, candidates=("'; drop",)),
    )
    folder.update(lambda job: job.model_copy(update={"readings": readings, "complete": True}))
    return folder


def copied(made: Made, root: Path) -> Made:
    """The same home elsewhere, for a test that changes it."""
    home = Home(Path(shutil.copytree(made.home.root, root)))
    folders = {name: JobFolder(home.jobs / folder.id) for name, folder in made.jobs.items()}
    return Made(home, made.key, folders)


class Served:
    """address: of the start page. access: by which devices are paired."""

    def __init__(self, made: Made, key: Identity | None) -> None:
        sockets = listening.on_this_machine(0)
        self.port = listening.port_of(sockets[0])
        self.address = f"http://localhost:{self.port}"
        self.access = Access(made.home, Places(self.port), lambda line: None)
        self.sessions = Sessions(made.home, SETTINGS, key, hears=Deaf())
        app = application(House(made.home, SETTINGS, key, self.sessions, self.access))
        self._server = uvicorn.Server(uvicorn.Config(app, log_level="warning", lifespan="off"))
        self._thread = threading.Thread(target=self._server.run, args=(sockets,), daemon=True)
        self._thread.start()

    def pair(self, context: BrowserContext, name: str = "Tablet") -> None:
        """Give a browser the cookie of a paired device."""
        _, own = self.access.pair(self.access.invite(), name, "Chrome on Android")
        context.add_cookies([{
            "name": self.access.cookie, "value": own, "domain": "localhost", "path": "/",
            "secure": True, "httpOnly": True, "sameSite": "Strict",
        }])  # fmt: skip

    def close(self) -> None:
        self._server.should_exit = True
        self._thread.join(20)
        self.sessions.close()


@contextmanager
def served(made: Made, key: Identity | None) -> Iterator[Served]:
    server = Served(made, key)
    try:
        yield server
    finally:
        server.close()
