"""A document of declared values to PDF: templates, characters, style, engine."""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Mapping

from recorder.errors import BadTemplate
from recorder.report.content.frame import Document
from recorder.report.content.pictures import SCHEME
from recorder.report.page import glyphs, weasy
from recorder.report.page.look import STYLE, Look
from recorder.report.page.templates import PAGE, fill
from recorder.report.wording.wording import count

DRAWN = ("seam.svg", "draft.svg")  # templates that the style sheet shows as pictures
_FAMILY = "Seamnote"  # the one that ``report.css`` sets everything in


def typeset(
    document: Document,
    look: Look,
    files: Mapping[str, bytes],
    name: str,
    template: str = PAGE,
    drawings: Mapping[str, str] | None = None,
) -> bytes:
    """The unsigned PDF of a document, in the language in force. The same arguments give the same
    bytes.

    files: pictures, by address. name: by which the document is told from any other.
    drawings: SVG by address, in which what the typefaces lack is replaced as on the page.
    Raises EngineMissing, PageFailed and BadTemplate.
    """
    html, drawn = _filled(document, look, template, drawings or {})
    every = {**_addressed(look), **files, **drawn}
    return weasy.pdf(html, every, hashlib.sha256(name.encode()).digest()[:16], style(look))


def _filled(
    document: Document, look: Look, template: str, drawings: Mapping[str, str]
) -> tuple[str, dict[str, bytes]]:
    """The page, and the drawings that it shows; all in characters that can be set."""
    has = glyphs.coverage(look)
    html = fill(document, look, template)
    lacked = glyphs.lacking(html + "".join(map(_seen, drawings.values())), has)
    if lacked:
        told = count(
            "The typeface of this report lacks {n} character of the record, shown as □: {codes}. "
            "The record itself holds it.",
            "The typeface of this report lacks {n} characters of the record, shown as □: {codes}. "
            "The record itself holds them.",
            len(lacked),
            codes=glyphs.listed(lacked),
        )
        html = fill(document.model_copy(update={"replaced": told}), look, template)
        html = glyphs.replaced(html, lacked)
    drawn = {f"{SCHEME}{name}": fill(document, look, name) for name in DRAWN} | dict(drawings)
    return html, {
        address: glyphs.replaced(svg, glyphs.lacking(svg, has)).encode()
        for address, svg in drawn.items()
    }


def _seen(svg: str) -> str:
    """The characters of a drawing that have a shape; others are left out without a word."""
    return "".join(char for char in set(svg) if unicodedata.category(char) != "Cf")


def style(look: Look) -> weasy.Style:
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
