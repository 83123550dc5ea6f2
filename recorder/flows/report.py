"""A job to its signed report."""

from __future__ import annotations

import getpass
import re
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from recorder.archive.folder import JobFolder
from recorder.archive.home import Home
from recorder.archive.reports import keep_report
from recorder.archive.restored import need_originals
from recorder.errors import JobUnfinished, OriginalChanged
from recorder.flows.progress import Progress
from recorder.model.job import Job, in_force
from recorder.report.content.edition import Edition
from recorder.report.identity import identity, passphrase
from recorder.report.page.render import render
from recorder.report.signing.sign import sign
from recorder.settings import ReportSettings, Settings

KEY_FILE = "signer.p12"


def signer(
    home: Home, job: Job, settings: ReportSettings, ask: Callable[[str], str] | None
) -> identity.Identity:
    """The home's signing identity, made on first use. Raises PassphraseMissing or -Wrong.

    A new one bears the technician's name from the settings, else from the job, else the user's.
    """
    path = home.identity / KEY_FILE
    secret = passphrase.obtain(
        path, ask, creating=not path.exists(), opens=lambda typed: identity.opens(path, typed)
    )
    if path.exists():
        return identity.load(path, secret)
    told = in_force(job.readings).get("technician")
    name = settings.technician or (str(told.value) if told else _user())
    return identity.create(path, secret, name, settings.firm or name)


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # a user id without a name
        return "technician"


def write(
    home: Home, folder: JobFolder, settings: Settings, key: identity.Identity, progress: Progress
) -> Path:
    """Render and sign the report of a job, keep it with its record, and return its path.

    Raises JobUnfinished, OriginalChanged, and what rendering and signing raise.
    """
    now = datetime.now().astimezone().replace(microsecond=0)
    job = folder.load()
    if not job.complete:
        raise JobUnfinished(job=job.id)
    need_originals(folder, job)
    changed = folder.changed_originals(job)
    if changed:
        raise OriginalChanged(path=changed[0])
    progress.stage("setting the report")
    edition = Edition(now=now, draft=False, signer=key.common_name)
    pdf = render(job, folder.path, settings.report, edition)
    progress.stage("signing the report")
    site = in_force(job.readings).get("site")
    signed = sign(
        pdf,
        key,
        reason="Record of the splice job",
        location=str(site.value) if site else "",
        now=now,
    )
    record = keep_report(
        folder, _stem(job, now), signed, written_at=now, signer=key.common_name, signatures=1,
        document_digest="", variant="full",
    )  # fmt: skip
    return folder.path_of(record.path)


def _stem(job: Job, now: datetime) -> str:
    number = in_force(job.readings).get("job_number")
    stem = re.sub(r"[^A-Za-z0-9-]+", "-", str(number.value)).strip("-") if number else ""
    return f"{stem[:40] or job.id}_{now:%Y%m%d-%H%M%S}"
