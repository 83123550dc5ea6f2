"""A month to the pages of its summary: compose, draw, set the type."""

from __future__ import annotations

from collections.abc import Mapping

from recorder.report.content.pictures import PictureTray
from recorder.report.page.look import Look
from recorder.report.page.typesetting import typeset
from recorder.report.summary.compose import Asked, Known, compose
from recorder.settings import ReportSettings

PAGE = "summary.html"


def render(
    asked: Asked,
    known: Known,
    drawings: Mapping[str, str],
    settings: ReportSettings,
    look: Look,
    tray: PictureTray,
) -> bytes:
    """The PDF of a summary, in the language in force. The same arguments give the same bytes.

    drawings: of the charts, SVG by address. Raises EngineMissing, PageFailed, BadLogo and
    BadTemplate.
    """
    summary = compose(asked, known, settings, tray)
    name = f"{asked.month.iso}\n{asked.customer or ''}\n{asked.now.isoformat()}"
    return typeset(summary, look, tray.files, name, PAGE, drawings)
