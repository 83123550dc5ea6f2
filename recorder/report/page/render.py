"""A job to the pages of its report: compose, fill the template, set the type."""

from __future__ import annotations

import functools
import hashlib
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from recorder.model.job import Job
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.edition import Edition
from recorder.report.content.pictures import SCHEME, Media, PictureTray
from recorder.report.page import weasy
from recorder.resources import shipped
from recorder.settings import ReportSettings

TEMPLATE = "report.html"


def render(job: Job, media: Media, settings: ReportSettings, edition: Edition) -> bytes:
    """The unsigned PDF of a job. The same arguments give the same bytes.

    media: finds the pictures of the record: the job's folder, or a function from a path in it.
    Raises EngineMissing.
    """
    tray = PictureTray(media)
    html = fill(compose(job, tray, settings, edition))
    identifier = hashlib.sha256(f"{job.id}\n{edition.now.isoformat()}".encode()).digest()[:16]
    return weasy.pdf(html, {**_shipped_files(), **tray.files}, identifier)


def fill(report: Report, template: str = TEMPLATE) -> str:
    """The HTML of a report. Raises jinja2.UndefinedError for a name that is not declared."""
    return _environment().get_template(template).render(report=report)


@functools.cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(shipped("report_templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@functools.cache
def _shipped_files() -> dict[str, bytes]:
    """Style sheets and fonts by address, as the templates name them."""
    folder: Path = shipped("report_templates")
    paths = [*folder.glob("*.css"), *folder.glob("fonts/*.otf")]
    return {f"{SCHEME}{path.relative_to(folder).as_posix()}": path.read_bytes() for path in paths}
