"""A job to its draft report: unsigned, with a watermark, beside the job."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from recorder.archive.disk import atomic
from recorder.archive.disk.home import Home
from recorder.archive.jobs.folder import JobFolder
from recorder.flows.looking import harmless
from recorder.model.job import Job
from recorder.report.content.edition import Edition
from recorder.report.page import look
from recorder.report.page.render import render
from recorder.settings import Settings

DRAFT = "derived/draft.pdf"


def write(home: Home, job: Job, folder: JobFolder, settings: Settings) -> Path:
    """Write the draft and return its path. Raises what ``render`` raises."""
    now = datetime.now().astimezone().replace(microsecond=0)
    edition = Edition(
        now=now,
        draft=True,
        signer="",
        paper=settings.report.paper,
        overrides=home.root / look.FOLDER,
    )
    with harmless.pictures(job, folder) as media:
        pdf = render(job, media, settings.report, edition)
    path = folder.path_of(DRAFT)
    atomic.write(path, pdf)
    return path
