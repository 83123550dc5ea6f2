"""A firm with a report, for the tests of what becomes of reports."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows import approve, report
from recorder.report.identity.identity import Identity
from recorder.settings import ReportSettings, Settings
from tests.flows.quiet import Quiet

SETTINGS = Settings(report=ReportSettings(firm="Quillback Belt Service", technician="Imke Dorn"))
PASSPHRASE = "of the tests"


@dataclass(frozen=True)
class Firm:
    """A home with one job, its certified report and a drawing."""

    home: Home
    folder: JobFolder
    key: Identity
    written: report.Written
    drawing: Path

    def approve(self, wanted: object, **changes: Any) -> approve.Approved:
        given = {"drawing": self.drawing, "name": "Tilda Brannock", "key": self.key, **changes}
        found = approve.find(self.home, str(wanted))
        return approve.write(
            self.home, found, given["drawing"], given["name"], SETTINGS, given["key"], Quiet()
        )
