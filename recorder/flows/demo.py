"""The demo: the shipped recording and photos of an invented job, end to end, asking nothing.

Its technician certifies the report, and an invented customer, whose signature is drawn by a
program, approves it; both say DEMO.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from recorder.archive.disk.home import Home, default_home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows import approve, process, report
from recorder.flows.identity import KEY_FILE
from recorder.flows.progress import Progress
from recorder.model.base import Value
from recorder.model.job import Job
from recorder.report.identity import identity
from recorder.report.page import weasy
from recorder.resources import shipped
from recorder.settings import ReportSettings, Settings

# The demo's key protects nothing: it is made anew for each demo and says DEMO in its name.
PASSPHRASE = "demo"
CUSTOMER = "DEMO Tilda Brannock"
_FIRM = ReportSettings(
    firm="Quillback Belt Service",
    address="Invented for this demo",
    technician="Imke Dorn",
    units={"temperature": "degF", "pressure": "psi"},
)


class Demonstrated(Value):
    """home: the fresh home. job: as saved. pdf: the report as the technician signed it.
    approved: with the customer's signature too.
    """

    home: Path
    job: Job
    pdf: Path
    approved: Path


def fresh_home(wanted: Path | None) -> Path:
    """``wanted`` if nothing is in it, else a new folder in it; by default beside the real home."""
    if wanted and not (wanted.exists() and any(wanted.iterdir())):
        return wanted
    parent = wanted or default_home().with_name(default_home().name + "-demo")
    stamp = f"{datetime.now():demo-%Y%m%d-%H%M%S}"
    tried = [parent / stamp, *(parent / f"{stamp}-{n}" for n in range(2, 100))]
    return next(path for path in tried if not path.exists())


def demo(wanted: Path | None, settings: Settings, progress: Progress) -> Demonstrated:
    """Run the demo. The user's own settings serve for speech only, so that it is always alike."""
    weasy.version()  # what is missing is better known before the hearing than after
    home = Home.open(fresh_home(wanted))
    own = Settings(speech=settings.speech, report=_FIRM)
    processed = process.process(home, shipped("demo_media") / "job", own, progress)
    progress.stage("making a throw-away identity marked DEMO")
    key = identity.create(
        home.identity / KEY_FILE, PASSPHRASE, _FIRM.technician, _FIRM.firm, demo=True
    )
    folder = JobFolder(processed.folder)
    pdf = report.write(home, folder, own, key, progress).path
    certified = approve.find(home, str(pdf))
    drawing = shipped("demo_media") / "signature.png"
    approved = approve.write(home, certified, drawing, CUSTOMER, own, key, progress).path
    return Demonstrated(home=home.root, job=folder.load(), pdf=pdf, approved=approved)
