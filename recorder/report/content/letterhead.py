"""The service firm's own head: its name, its logo, its colours."""

from __future__ import annotations

import io
from pathlib import Path
from xml.etree import ElementTree

from PIL import Image

from recorder.errors import BadLogo
from recorder.report.content.frame import Letterhead
from recorder.report.content.pictures import MOST_PIXELS, SCHEME, PictureTray
from recorder.report.content.text import brief
from recorder.report.wording.wording import noted, say
from recorder.settings import ReportSettings

LOGO_MM = (62.0, 18.0)  # the largest that the style sheet shows it
LOGO_DPI = 300
MOST_BYTES = 4_000_000
MOST_BYTES_SVG = 400_000

_LONGEST_FIRM, _LONGEST_ADDRESS = 64, 110
# Drawing alone: no text, whose typeface the document would lack, and nothing that fetches or runs.
_DRAWING = {
    "svg", "g", "defs", "title", "desc", "metadata", "style", "path", "rect", "circle", "ellipse",
    "line", "polyline", "polygon", "clipPath", "linearGradient", "radialGradient", "stop",
}  # fmt: skip
_SVG = "{http://www.w3.org/2000/svg}"


def letterhead(settings: ReportSettings, signer: str, tray: PictureTray) -> Letterhead:
    """Raises BadLogo."""
    firm = settings.firm or settings.technician or signer or say("Splice service")
    src = ""
    if settings.logo:
        kind, content = logo(settings.logo)
        src = f"{SCHEME}logo.{kind}"
        tray.files[src] = content
    first, *rest = settings.colours
    return Letterhead(
        firm=brief(firm, _LONGEST_FIRM),
        address=brief(settings.address, _LONGEST_ADDRESS),
        logo=src,
        logo_alt=say("Logo of {firm}", firm=brief(firm, _LONGEST_FIRM)) if src else "",
        colour=first,
        second_colour=rest[0] if rest else first,
    )


def logo(path: Path) -> tuple[str, bytes]:
    """Its kind and its content, fit for the page. Raises BadLogo.

    An SVG drawing goes in as it is, a PNG or JPEG picture at print resolution.
    """
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise BadLogo(path=path, detail="its file is larger than 4 MB")
        content = path.read_bytes()
    except OSError as error:
        raise BadLogo(path=path, detail=error.strerror or str(error)) from error
    if path.suffix.lower() == ".svg":
        fault = _fault_of_svg(content)
        if fault:
            raise BadLogo(path=path, detail=fault)
        return "svg", content
    return "png", _picture(path, content)


def _fault_of_svg(content: bytes) -> str:
    """Why a drawing cannot be shown; empty when it can."""
    if len(content) > MOST_BYTES_SVG:
        return "its drawing is larger than 400 kB"
    if b"<!" in content.replace(b"<!--", b""):
        return "its drawing has a document type or entities"
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        return f"its drawing cannot be read: {error}"
    if root.tag not in (f"{_SVG}svg", "svg"):
        return "its drawing is no SVG"
    if not (root.get("viewBox") or (root.get("width") and root.get("height"))):
        return "its drawing has neither viewBox nor width and height"
    for element in root.iter():
        name = str(element.tag).removeprefix(_SVG)
        if "}" not in name and name not in _DRAWING:
            return f"its drawing uses <{name}>; draw everything as paths"
        for value in (*element.attrib.values(), element.text or ""):
            if "url(" in value.replace("url(#", "") or "@import" in value:
                return "its drawing refers to something outside of it"
    return ""


def _picture(path: Path, content: bytes) -> bytes:
    box = (round(LOGO_MM[0] / 25.4 * LOGO_DPI), round(LOGO_MM[1] / 25.4 * LOGO_DPI))
    try:
        with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as image:
            if image.width * image.height > MOST_PIXELS:
                raise BadLogo(path=path, detail=noted("it has too many pixels"))
            clear = "A" in image.getbands() or "transparency" in image.info
            picture = image.convert("RGBA" if clear else "RGB")
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        detail = "it is no whole PNG, JPEG or SVG picture"
        raise BadLogo(path=path, detail=detail) from error
    picture.thumbnail(box, Image.Resampling.LANCZOS)
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=True)
    return out.getvalue()
