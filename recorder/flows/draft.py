"""A job to its draft report: unsigned, with a watermark, beside the job."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from recorder.archive import atomic
from recorder.archive.folder import JobFolder
from recorder.model.job import Job
from recorder.report.content.edition import Edition
from recorder.report.page.render import render
from recorder.settings import Settings

DRAFT = "derived/draft.pdf"


def write(job: Job, folder: JobFolder, settings: Settings) -> Path:
    """Write the draft and return its path. Raises EngineMissing when Pango is not installed."""
    now = datetime.now().astimezone().replace(microsecond=0)
    pdf = render(job, folder.path, settings.report, Edition(now=now, draft=True, signer=""))
    path = folder.path_of(DRAFT)
    atomic.write(path, pdf)
    return path
