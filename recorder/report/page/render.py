"""A job to the pages of its report: compose, fill the templates, set the type."""

from __future__ import annotations

import hashlib

from recorder.errors import BadTemplate
from recorder.model.job import Job
from recorder.report.content.compose import compose
from recorder.report.content.context import Report
from recorder.report.content.edition import Edition
from recorder.report.content.pictures import SCHEME, Media, PictureTray
from recorder.report.page import glyphs, weasy
from recorder.report.page import look as looks
from recorder.report.page.look import STYLE, Look
from recorder.report.page.templates import fill
from recorder.report.wording.wording import count, writing
from recorder.settings import ReportSettings

_DRAWN = ("seam.svg", "draft.svg")  # templates that the style sheet shows as pictures
_FAMILY = "Seamnote"  # the one that ``report.css`` sets everything in


def render(job: Job, media: Media, settings: ReportSettings, edition: Edition) -> bytes:
    """The unsigned PDF of a job. The same arguments give the same bytes.

    media: finds the pictures of the record: the job's folder, or a function from a path in it.
    Raises EngineMissing, PageFailed, BadLogo, BadTemplate, BadWording and UnknownLanguage.
    """
    look = looks.read(edition.overrides)
    tray = PictureTray(media)
    with writing(settings.language, look.folders):
        html, drawn = _filled(compose(job, tray, settings, edition), look)
    style = _style(look)
    identifier = hashlib.sha256(f"{job.id}\n{edition.now.isoformat()}".encode()).digest()[:16]
    files = {**_addressed(look), **tray.files, **_addresses(drawn)}
    return weasy.pdf(html, files, identifier, style)


def _filled(report: Report, look: Look) -> tuple[str, dict[str, bytes]]:
    """The page, and the drawings that its style sheet shows; both in characters that can be set."""
    has = glyphs.coverage(look)
    html = fill(report, look)
    lacked = glyphs.lacking(html, has)
    if lacked:
        told = count(
            "The typeface of this report lacks {n} character of the record, shown as □: {codes}. "
            "The record that is attached holds it.",
            "The typeface of this report lacks {n} characters of the record, shown as □: {codes}. "
            "The record that is attached holds them.",
            len(lacked),
            codes=glyphs.listed(lacked),
        )
        html = fill(report.model_copy(update={"replaced": told}), look)
        html = glyphs.replaced(html, lacked)
    drawn = {name: fill(report, look, name) for name in _DRAWN}
    return html, {
        name: glyphs.replaced(svg, glyphs.lacking(svg, has)).encode() for name, svg in drawn.items()
    }


def _style(look: Look) -> weasy.Style:
    """Raises BadTemplate for what the engine does not understand in a style sheet of the firm."""
    sheets = [(name, look.text(name)) for name in STYLE]
    sheets.append(("more fonts", _more_fonts(look)))
    style = weasy.style(look.digest, tuple(sheets), _addressed(look))
    for name, line, detail in style.faults:
        if name in look.own:
            raise BadTemplate(path=look.paths[name], line=line, detail=detail)
    return style


def _more_fonts(look: Look) -> str:
    """Fonts of the firm under new names stand in for characters that the shipped ones lack."""
    added = [name for name in look.fonts if name in look.own]
    families = [_FAMILY, *(f"{_FAMILY} {number}" for number in range(len(added)))]
    faces = [
        f'@font-face {{ font-family: "{family}"; src: url("{SCHEME}{name}") }}'
        for family, name in zip(families[1:], added, strict=True)
    ]
    listed = ", ".join(f'"{family}"' for family in families)
    return "\n".join([*faces, f"html {{ font-family: {listed} }}"]) if added else ""


def _addressed(look: Look) -> dict[str, bytes]:
    return {f"{SCHEME}{name}": content for name, content in look.files.items()}


def _addresses(files: dict[str, bytes]) -> dict[str, bytes]:
    return {f"{SCHEME}{name}": content for name, content in files.items()}
