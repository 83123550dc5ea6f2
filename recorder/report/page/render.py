"""A job to the pages of its report: compose, fill the templates, set the type."""

from __future__ import annotations

from recorder.model.job import Job
from recorder.report.content.compose import compose
from recorder.report.content.edition import Edition
from recorder.report.content.pictures import Media, PictureTray
from recorder.report.page import look as looks
from recorder.report.page.typesetting import typeset
from recorder.report.wording.wording import writing
from recorder.settings import ReportSettings


def render(job: Job, media: Media, settings: ReportSettings, edition: Edition) -> bytes:
    """The unsigned PDF of a job. The same arguments give the same bytes.

    media: finds the pictures of the record: the job's folder, or a function from a path in it.
    Raises EngineMissing, PageFailed, BadLogo, BadTemplate, BadWording and UnknownLanguage.
    """
    look = looks.read(edition.overrides)
    tray = PictureTray(media)
    with writing(settings.language, look.folders):
        report = compose(job, tray, settings, edition)
        return typeset(report, look, tray.files, f"{job.id}\n{edition.now.isoformat()}")
